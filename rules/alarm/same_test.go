package alarm

import (
	"reflect"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/require"

	"wetside/sensors/quantity/phrase"
)

// altered gives an alarm in which one field has another value, also one that nobody outside can set.
func altered(t *testing.T, a Alarm, field reflect.StructField) Alarm {
	t.Helper()
	v := reflect.NewAt(field.Type, unsafe.Pointer(reflect.ValueOf(&a).Elem().FieldByIndex(field.Index).UnsafeAddr())).Elem()
	switch v.Interface().(type) {
	case time.Time:
		v.Set(reflect.ValueOf(time.Date(2026, 1, 15, 0, 0, 0, 0, time.UTC)))
		return a
	case phrase.Sentence:
		v.Set(reflect.ValueOf(phrase.Say("something else")))
		return a
	}
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(!v.Bool())
	case reflect.String:
		v.SetString(v.String() + "!")
	case reflect.Int64:
		v.SetInt(v.Int() + 1)
	case reflect.Uint8:
		v.SetUint(v.Uint() + 1)
	default:
		t.Fatalf("a field %s of type %s: say here how it changes", field.Name, field.Type)
	}
	return a
}

// An alarm that changed in any field is not the same; only words may change under a state that stays,
// since those that it was raised with stand until then.
func TestEveryFieldOfAnAlarmDecidesWhetherItChanged(t *testing.T) {
	words := map[string]bool{"Text": true, "Act": true, "Cause": true}
	spoken := Alarm{ID: "air", Text: phrase.Say("the air does not move"), Act: phrase.Say("look"), Cause: phrase.Say("seen")}
	require.True(t, spoken.same(&spoken))
	for _, field := range reflect.VisibleFields(reflect.TypeFor[Alarm]()) {
		changed := altered(t, spoken, field)
		require.Equal(t, words[field.Name], spoken.same(&changed), field.Name)
	}
	text, _ := reflect.TypeFor[Alarm]().FieldByName("Text")
	silent, told := Alarm{}, altered(t, Alarm{}, text)
	require.False(t, silent.same(&told), "words where there were none")
}
