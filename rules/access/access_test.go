package access_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules/access"
)

func TestARoleCoversItselfAndEveryRoleBelow(t *testing.T) {
	order := append([]access.Role{access.Reader}, access.Roles()...)
	require.Equal(t, []access.Role{"reader", "volunteer", "instructor", "manager", "keeper"}, order)
	for i, role := range order {
		for j, least := range order {
			require.Equal(t, i >= j, role.Covers(least), "%s asked for %s", role, least)
		}
	}
}

func TestARoleThatIsNotKnownCoversNothing(t *testing.T) {
	for _, strange := range []access.Role{"", "Keeper", "admin"} {
		require.False(t, strange.Covers(access.Reader), strange)
		require.False(t, access.Keeper.Covers(strange), strange)
		require.False(t, strange.Covers(strange), strange)
		_, err := access.ParseRole(string(strange))
		require.ErrorContains(t, err, "expected volunteer, instructor, manager or keeper")
	}
	_, err := access.ParseRole("reader")
	require.Error(t, err, "no person is a script")
}

func TestAPersonIsCarriedAlong(t *testing.T) {
	_, ok := access.From(context.Background())
	require.False(t, ok)
	got, ok := access.From(access.With(context.Background(), access.Person{Name: "Ida", Role: access.Manager}))
	require.True(t, ok)
	require.Equal(t, access.Person{Name: "Ida", Role: access.Manager}, got)
}
