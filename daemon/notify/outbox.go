package notify

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
	"time"

	"wetside/daemon/history/disk"
)

// mostWaiting bounds how many messages wait for one person: the oldest go first, since what
// they tell of is long over.
const mostWaiting = 20

// Message waits for one person.
type Message struct {
	Person  string    `json:"person"`
	Written time.Time `json:"written"`
	Subject string    `json:"subject"`
	Text    string    `json:"text"`
}

// outbox is what outlasts a restart: what everybody was told of, and what still waits.
type outbox struct {
	file string
	// Told holds by person when a matter was told.
	Told    map[string]map[string]time.Time `json:"told"`
	Waiting []Message                       `json:"waiting,omitempty"`
}

func openOutbox(file string) (*outbox, error) {
	b := &outbox{file: file, Told: map[string]map[string]time.Time{}}
	text, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return b, nil
	}
	if err == nil {
		err = json.Unmarshal(text, b)
	}
	if err != nil {
		return nil, fmt.Errorf("the list of messages that were sent can't be read: delete %s to send them again: %w", file, err)
	}
	if b.Told == nil {
		b.Told = map[string]map[string]time.Time{}
	}
	return b, nil
}

func (b *outbox) keep() error {
	text, err := json.Marshal(b)
	if err == nil {
		err = disk.WriteBytes(b.file, 0o600, text)
	}
	if err != nil {
		return fmt.Errorf("the list of messages that were sent can't be saved: %w", disk.Told(err))
	}
	return nil
}

func (b *outbox) of(person string) map[string]time.Time {
	if b.Told[person] == nil {
		b.Told[person] = map[string]time.Time{}
	}
	return b.Told[person]
}

func (b *outbox) add(m Message) {
	b.Waiting = append(b.Waiting, m)
	n := 0
	for i := len(b.Waiting) - 1; i >= 0; i-- {
		if b.Waiting[i].Person != m.Person {
			continue
		}
		if n++; n > mostWaiting {
			b.Waiting = append(b.Waiting[:i], b.Waiting[i+1:]...)
			return
		}
	}
}

func (b *outbox) first(person string) (Message, bool) {
	for _, m := range b.Waiting {
		if m.Person == person {
			return m, true
		}
	}
	return Message{}, false
}

// gone takes the oldest message of a person away.
func (b *outbox) gone(person string) {
	for i, m := range b.Waiting {
		if m.Person == person {
			b.Waiting = append(b.Waiting[:i], b.Waiting[i+1:]...)
			return
		}
	}
}

// forget lets go of matters that are over, and of people who are no longer told.
func (b *outbox) forget(list []Matter, people []Person, today string) {
	lasting := map[string]bool{today: true}
	for _, m := range list {
		lasting[m.Key] = true
	}
	known := map[string]bool{}
	for _, p := range people {
		known[p.Name] = true
		maps.DeleteFunc(b.Told[p.Name], func(key string, _ time.Time) bool { return !lasting[key] })
	}
	maps.DeleteFunc(b.Told, func(person string, _ map[string]time.Time) bool { return !known[person] })
	b.Waiting = slices.DeleteFunc(b.Waiting, func(m Message) bool { return !known[m.Person] })
}
