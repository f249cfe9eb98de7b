package intake_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/intake"
	"wetside/sensors"
)

func vienna(t require.TestingT) *time.Location {
	zone, err := time.LoadLocation("Europe/Vienna")
	require.NoError(t, err)
	return zone
}

// read gives the readings of a text up to the first mistake.
func read(text string, o intake.Options) (list []intake.Reading, err error) {
	for r, err := range intake.Read(strings.NewReader(text), o) {
		if err != nil {
			return list, err
		}
		list = append(list, r)
	}
	return list, nil
}

func Example() {
	file := "time;value\n2025-11-03 18:30;20,5\n"
	for r, err := range intake.Read(strings.NewReader(file), intake.Options{Channel: "developer-tray", Zone: time.UTC}) {
		fmt.Println(r.Line, r.Channel, r.At.Format(time.RFC3339), r.Value, err)
	}
	// Output: 2 developer-tray 2025-11-03T18:30:00Z 20.5 <nil>
}

func TestColumnsAreFoundByName(t *testing.T) {
	at := time.Date(2026, 3, 2, 17, 0, 0, 250e6, time.UTC)
	want := intake.Reading{Line: 2, Channel: "tray", Unit: "C", At: at, Value: -0.25, Grade: sensors.Suspect, Reason: "jump"}
	for _, text := range []string{
		"channel,unit,utc,local,raw,grade,reason,imported\ntray,C,2026-03-02T17:00:00.250Z,whatever,-0.25,suspect,jump,false\n",
		"\ufeff\"Value\",\"Time\",\"Grade\",\"Reason\",\"Unit\",\"Channel\"\r\n-2.5e-1,2026-03-02 18:00:00.25,Suspect,jump,C,tray\r\n",
		"Time;Value;Grade;Reason\n2026-03-02T18:00:00.25;-0,25;suspect;jump\n",
		"Date\tTime\tValue\tGrade\tReason\r\n2026-03-02\t18:00:00.25\t-0,25\tsuspect\tjump\r\n",
		"date,time,value,grade,reason\n02.03.,2026-03-02 18:00:00.25,-0.25,suspect,jump\n",
	} {
		got, err := read(text, intake.Options{Channel: "tray", Unit: "C", Zone: vienna(t)})
		require.NoError(t, err, text)
		require.Equal(t, []intake.Reading{want}, got, text)
	}
}

func TestMistakesAreNamedWithTheirLine(t *testing.T) {
	for text, want := range map[string]string{
		"":             `line 1 is empty`,
		"time,volts\n": `line 1: there is no column "value" or "raw" among ["time" "volts"]`,
		"when value\n": `line 1: there is no column "time" or "utc" among ["when value"]`,
		"\xff\xfet\x00i\x00m\x00e\x00,\x00v\x00\n\x00":           "save it as comma-separated values in UTF-8",
		"time,value\r2026-03-02T17:00:00Z,1\r":                   "a carriage return alone",
		"time,value\n2026-03-02T17:00:00Z,1\nsoup,2\n":           "line 3: \"soup\" is not a time",
		"time,value\n2026-03-02T17:00:00Z,\n":                    "line 2: \"\" is not a value",
		"time,value\n2026-03-02T17:00:00Z,NaN\n":                 "is not a value",
		"time,value\n2026-03-02T17:00:00Z,1,5\n\n2026-03-02,1\n": "line 4: \"2026-03-02\" is not a time",
		"time,value\n2026-10-25 02:30:00,1\n":                    "showed 2026-10-25 02:30:00 twice",
		"time,value\n2026-03-29 02:30:00,1\n":                    "was left out for daylight saving",
		"time,value,grade\n2026-03-02T17:00:00Z,1,fine\n":        "\"fine\" is not a grade",
		"time,value\n\"2026-03-02T17:00:00Z,1\n":                 "line 2: ",
		"time,value\n0000-01-01T00:00:00Z,1\n":                   "outside the years 1 to 9999",
		"time,value,channel\n2026-03-02T17:00:00Z,1,\nx,2,y\n":   "line 3",
		"time;value\n2026-03-02T17:00:00Z;1.000,5\n":             "is not a value",
	} {
		_, err := read(text, intake.Options{Channel: "tray", Zone: vienna(t)})
		require.ErrorContains(t, err, want, text)
	}
	_, err := read("time,value\n", intake.Options{Zone: time.UTC})
	require.ErrorContains(t, err, "say which channel")
	_, err = read("time,value,channel\n2026-03-02T17:00:00Z,1,\n", intake.Options{Zone: time.UTC})
	require.ErrorContains(t, err, "line 2: it names no channel")
}

// FuzzRead hands any bytes over: each reading is one that the history can hold.
func FuzzRead(f *testing.F) {
	f.Add([]byte("time,value\n2026-03-02T17:00:00Z,1\n"))
	f.Add([]byte("channel;unit;utc;raw;grade;reason\ntray;C;2026-03-02 17:00;1,5;good;\n"))
	f.Fuzz(func(t *testing.T, file []byte) {
		for r, err := range intake.Read(bytes.NewReader(file), intake.Options{Channel: "tray", Zone: vienna(t)}) {
			if err != nil {
				return
			}
			require.NotEmpty(t, r.Channel)
			require.False(t, r.Value != r.Value)
			require.True(t, r.At.Year() >= 1 && r.At.Year() <= 9999)
		}
	})
}
