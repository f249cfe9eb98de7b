package rules

import (
	"encoding/json"
	"slices"
	"time"

	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/rules/session"
)

// matter is what a record is about, such as one alarm. Of all records about a matter only the
// last count on a board that is brought back, so many as Last says; with a Last of zero a
// record counts until one with a Last of more comes after it.
type matter struct {
	About string
	Last  int
}

// MatterBook finds out which records of a room must be read to bring its board back: those
// that no later record makes meaningless. Records come in the order of their numbers; to
// bring a book up to date, give it what [MatterBook.Numbers] listed and then what came after.
// The zero MatterBook has read none.
type MatterBook struct {
	always []uint64
	about  map[string][]uint64
}

// Read takes one record of the kinds of [RecalledKinds].
func (b *MatterBook) Read(r record.Record) {
	matters := mattersOf(r)
	if len(matters) == 0 {
		b.always = append(b.always, r.Number)
	}
	if b.about == nil {
		b.about = map[string][]uint64{}
	}
	for _, m := range matters {
		list := b.about[m.About]
		if m.Last > 0 {
			list = list[max(0, len(list)-m.Last+1):]
		}
		b.about[m.About] = append(list[:len(list):len(list)], r.Number)
	}
}

// Numbers lists the records that count, in order.
func (b *MatterBook) Numbers() []uint64 {
	list := slices.Clone(b.always)
	for _, of := range b.about {
		list = append(list, of...)
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// mattersOf is what a record is about; nothing for one that counts for ever.
func mattersOf(r record.Record) []matter {
	if k, ok := eventKinds[r.Kind]; ok {
		var e Event
		if k.matters == nil || json.Unmarshal(r.Content, &e) != nil {
			return nil
		}
		return k.matters(e)
	}
	decoded, err := DecodeAct(r.Kind, r.Content)
	if err != nil {
		return nil
	}
	act, _ := inRoom(decoded)
	if about, ok := act.(interface{ matters() []matter }); ok {
		return about.matters()
	}
	return nil
}

const (
	sessionMatter = "session"
	flowMatter    = "flow of sessions"
	fanMatter     = "runs of the fan"
)

func alarmMatter(id string) string { return "alarm " + id }

// seerMatter is who saw one alarm that was answered without a name.
func seerMatter(id string, raised time.Time) string {
	return "seer of " + id + " at " + raised.UTC().Format(time.RFC3339Nano)
}

// alarmMatters: the last change of an alarm says all about it.
func alarmMatters(e Event) []matter {
	if e.Alarm == nil || !e.Alarm.Restorable() {
		return nil
	}
	list := []matter{{alarmMatter(e.Alarm.ID), 1}}
	if e.Alarm.Screen != "" && alarm.Answers(alarm.State(e.From), alarm.State(e.To)) {
		list = append(list, matter{seerMatter(e.Alarm.ID, e.Alarm.Raised), 1})
	}
	return list
}

func fanRunMatters(Event) []matter { return []matter{{fanMatter, keptRuns}} }

// sessionMatters: the last record of a session says all about it; of those that are over
// the flow is remembered as well.
func sessionMatters(e Event) []matter {
	if e.Session == nil {
		return nil
	}
	list := []matter{{sessionMatter, 1}}
	if _, known := e.Session.Tally.MeanFlow(); known && e.Session.Phase == session.Closed {
		list = append(list, matter{flowMatter, keptFlows})
	}
	return list
}

func (o ofAlarm) matters() []matter {
	id, _, _ := o.target()
	return []matter{{alarmMatter(id), 0}}
}

func (StartSession) matters() []matter { return []matter{{sessionMatter, 0}} }

func (EndSession) matters() []matter { return []matter{{sessionMatter, 0}} }

func (a AnnounceTime) matters() []matter { return []matter{{"time for " + a.Bath, 1}} }
