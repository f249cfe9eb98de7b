package rules

import "wetside/sensors"

// Unanswerable are the alarms that a room could raise as things are and that nobody could answer.
func Unanswerable(room Room, board Board, now sensors.Instant) (ids []string) {
	snapshot, _, _ := Evaluate(room, board, now)
	for _, signal := range signals(snapshot) {
		if !room.knownAlarm(signal.ID) {
			ids = append(ids, signal.ID)
		}
	}
	return ids
}
