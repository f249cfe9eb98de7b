package ledger_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/sensors/quantity/phrase"
)

func spoken[T interface {
	~string
	phrase.Spoken
}](all ...T) map[string]phrase.Spoken {
	found := map[string]phrase.Spoken{}
	for _, one := range all {
		found[string(one)] = one
	}
	return found
}

func TestTheWordsOfAKeyOfTheBookAreTheKey(t *testing.T) {
	var seen []ledger.Seen
	for _, kind := range ledger.TestKinds() {
		seen = slices.Concat(seen, kind.Seen())
	}
	for _, all := range []map[string]phrase.Spoken{
		spoken(ledger.Classes()...), spoken(ledger.Materials()...), spoken(ledger.TestKinds()...), spoken(ledger.SilverMethods()...),
		spoken(seen...),
		spoken(ledger.SilverStream, ledger.TonerStream, ledger.PlainStream), spoken(ledger.House, ledger.Owner("private: Cy")),
		spoken(ledger.Bottle, ledger.Carboy, ledger.Tray, ledger.Tank, ledger.WasteContainer),
		spoken(ledger.FromConcentrate, ledger.FromStock, ledger.FromPowder, ledger.FromUnknown),
		spoken(ledger.Pour, ledger.TestFirst, ledger.Discard), spoken(ledger.Verified, ledger.Secondary, ledger.CommonPractice,
			ledger.Unverified),
		spoken(ledger.ReturnIt, ledger.DiscardIt, ledger.TestIt, ledger.OwnerTakes), spoken(ledger.ReachesLine, ledger.UnderLine,
			ledger.LineUnknown),
	} {
		for key, word := range all {
			require.Equal(t, key, word.Said().String(), "the English words are the key")
		}
	}
	require.Equal(t, "somewhere else", ledger.Vessel("somewhere else").Said().String(), "what nobody knows stays as it was written")
}
