package dialect_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

// Sentences as printed in "Vaisala Weather Transmitter WXT530 Series User's
// Guide" M211840EN-C, pages 119 and 120, and M210906EN-C, page 96, with the
// checksums printed there; those named IIXDR are in many public sources, their
// first one unknown.
func TestPublishedSentences(t *testing.T) {
	for _, c := range []struct {
		sentence string
		want     sensors.FrameResult
		values   []string
	}{
		{"$WIXDR,V,0.02,M,0,Z,30,s,0,R,2.7,M,0,V,0.0,M,1,Z,0,s,1,R,0.0,M,1,R,6.3,M,2,R,0.0,M,3*51", sensors.FrameGood,
			[]string{"V0=0.02m3", "Z0=30s", "R0=2.7M", "V1=0m3", "Z1=0s", "R1=0M", "R2=6.3M", "R3=0M"}},
		{"$IIXDR,C,19.52,C,TempAir*19", sensors.FrameGood, []string{"TempAir=19.52C"}},
		{"$IIXDR,P,1.02481,B,Barometer*29", sensors.FrameGood, []string{"Barometer=1.02481bar"}},
		{"$WIMWV,282,R,0.1,M,A*37", sensors.FrameIgnored, []string{}},
		{"$--WIQ,XDR*2D", sensors.FrameIgnored, []string{}},
		{"$WITXT,01,01,08,Use chksum 2F*72", sensors.FrameIgnored, []string{}},
		// A misprint of that guide: the checksum of what is printed is 5C.
		{"$WIXDR,C,23.3,C,0,C,24.0,C,1,H,50.1,P,0,P,1009.5,H,0*75", sensors.FrameChecksum, []string{}},
		{"$WIXDR,C,23.3,C,0,C,24.0,C,1,H,50.1,P,0,P,1009.5,H,0*5C", sensors.FrameGood,
			[]string{"C0=23.3C", "C1=24C", "H0=50.1%", "P0=1009.5hPa"}},
	} {
		frames := listen(dialect.NewXDR(), c.sentence+"\r\n")
		require.Equal(t, []sensors.FrameResult{c.want}, results(frames), c.sentence)
		require.Equal(t, c.values, values(frames), c.sentence)
	}
}

// sentence closes the body of a sentence with its checksum.
func sentence(body string) string {
	const digits = "0123456789ABCDEF"
	sum := dialect.XDRChecksum(body)
	return "$" + body + "*" + string([]byte{digits[sum>>4], digits[sum&15]}) + "\r\n"
}

func TestXDRSentence(t *testing.T) {
	for _, c := range []struct {
		name, line string
		want       sensors.FrameResult
		values     []string
	}{
		{"temperature, humidity, pressure", sentence("WIXDR,C,21.4,C,AIR,H,45.2,P,HUM,P,101325,P,ROOM,P,1.01325,B,BARO"), sensors.FrameGood,
			[]string{"AIR=21.4C", "HUM=45.2%", "ROOM=101325Pa", "BARO=1.01325bar"}},
		{"any talker", sentence("YXXDR,C,-3,C,A"), sensors.FrameGood, []string{"A=-3C"}},
		{"other types", sentence("WIXDR,G,650,,CO2,R,30,l,DUCT,S,1,,FAN,N,5,N,F,I,2,A,AMP,U,12,V,BAT,F,50,H,AC,E,40,P,TANK"), sensors.FrameGood,
			[]string{"CO2=650", "DUCT=30L/s", "FAN=1", "F=5N", "AMP=2A", "BAT=12V", "AC=50Hz", "TANK=40%"}},
		{"air velocity", sentence("WIXDR,S,2.5,M,D1,S,9,K,D2"), sensors.FrameGood, []string{"D1=2.5m/s", "D2=9km/h"}},
		{"an absolute humidity is no temperature", sentence("WIXDR,B,0.01,K,AIR"), sensors.FrameGood, []string{"AIR=0.01kg/m3"}},
		{"numbers begin again with each type", sentence("WIXDR,C,21,C,0,H,45,P,0"), sensors.FrameGood, []string{"C0=21C", "H0=45%"}},
		{"no identifier", sentence("WIXDR,C,21,C,"), sensors.FrameGood, []string{"C=21C"}},
		{"no value", sentence("WIXDR,C,,C,AIR,H,45,P,HUM"), sensors.FrameGood, []string{"AIR=?", "HUM=45%"}},
		{"words for a value", sentence("WIXDR,G,HEL/___,,4"), sensors.FrameGood, []string{"G4=?"}},
		{"an empty group", sentence("WIXDR,C,21,C,AIR,,,,"), sensors.FrameGood, []string{"AIR=21C"}},
		{"a value from nowhere", sentence("WIXDR,,21,C,"), sensors.FrameGarbled, []string{}},
		{"the same identifier twice", sentence("WIXDR,C,21,C,AIR,C,22,C,AIR"), sensors.FrameGarbled, []string{}},
		{"a group cut short", sentence("WIXDR,C,21,C,AIR,H,45"), sensors.FrameGarbled, []string{}},
		{"no groups", sentence("WIXDR"), sensors.FrameGarbled, []string{}},
		{"nothing but an empty group", sentence("WIXDR,,,,"), sensors.FrameGarbled, []string{}},
		{"another dollar sign", sentence("WIXDR,C,21,C,A$R"), sensors.FrameGarbled, []string{}},
		{"no checksum", "$WIXDR,C,21,C,AIR\r\n", sensors.FrameGarbled, []string{}},
		{"no dollar sign", sentence("WIXDR,C,21,C,AIR")[1:], sensors.FrameGarbled, []string{}},
		{"a wrong checksum", "$WIXDR,C,21,C,AIR*00\r\n", sensors.FrameChecksum, []string{}},
		{"a checksum of other characters", "$WIXDR,C,21,C,AIR*0G\r\n", sensors.FrameGarbled, []string{}},
		{"another sentence", sentence("WIMTW,20.1,C"), sensors.FrameIgnored, []string{}},
		{"a maker's own sentence", sentence("PXDRX,20.1,C"), sensors.FrameIgnored, []string{}},
		{"an encapsulated sentence", "!" + sentence("WIXDR,C,21,C,AIR")[1:], sensors.FrameIgnored, []string{}},
		{"too long", sentence("WIXDR,C,21,C," + strings.Repeat("A", 200)), sensors.FrameTooLong, []string{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			frames := listen(dialect.NewXDR(), c.line)
			require.Equal(t, []sensors.FrameResult{c.want}, results(frames))
			require.Equal(t, c.values, values(frames))
		})
	}
}

func TestXDRRoundTripInAnyPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfNDistinct(rapid.StringMatching(`[A-Z][A-Z0-9#]{0,5}`), 1, 6, rapid.ID[string]).Draw(t, "names")
		sent := make([]dialect.XDRValue, len(names))
		want := make([]sensors.Measurement, len(names))
		for i, name := range names {
			text := rapid.StringMatching(`[+-]?[0-9]{1,4}(\.[0-9]{1,3})?`).Draw(t, "value")
			sent[i] = dialect.XDRValue{Type: "C", Value: text, Unit: "C", Name: name}
			number, err := strconv.ParseFloat(text, 64)
			require.NoError(t, err)
			want[i] = sensors.Measurement{Address: name, Value: number, Unit: "C"}
		}
		frames := inPieces(t, dialect.NewXDR(), []byte(dialect.EncodeXDR("WI", sent)))
		require.Len(t, frames, 1)
		require.Equal(t, want, frames[0].Measurements)
	})
}

// The exclusive or finds every single flipped bit; only a flip that leaves the
// meaning alone (the case of a checksum letter) may pass.
func TestXDRFlippedBit(t *testing.T) {
	whole := dialect.EncodeXDR("WI", []dialect.XDRValue{{"C", "21.4", "C", "AIR"}, {"H", "45.2", "P", "HUM"}})
	for bit := range 8 * len(whole) {
		bad := []byte(whole)
		bad[bit/8] ^= 1 << (bit % 8)
		for _, f := range listen(dialect.NewXDR(), string(bad)) {
			if f.Result == sensors.FrameGood {
				require.Equal(t, []string{"AIR=21.4C", "HUM=45.2%"}, values([]sensors.Frame{f}), "bit %d", bit)
			}
		}
	}
}
