package dialect_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
	"wetside/sensors/dialect"
)

func TestUnitsAreAskedInTurn(t *testing.T) {
	l := newBus(newMaster(t, holding(1, 0), holding(2, 0), holding(3, 0)))
	l.run(10 * time.Second)
	require.Equal(t, map[sensors.FrameResult]int{sensors.FrameGood: 30}, l.count())
	require.Equal(t, []string{"1 3 0 1", "2 3 0 1", "3 3 0 1", "1 3 0 1"}, l.asked[:4])
	require.Empty(t, l.lies())
}

// At 9600 baud a character of 11 bits takes 1.146 ms and 3.5 of them 4.01 ms;
// above 19200 baud the silent time is fixed at 1.75 ms (MODBUS over Serial Line
// V1.02, section 2.5.1.1).
func TestSilenceBeforeARequest(t *testing.T) {
	for baud, want := range map[int]time.Duration{0: 4010 * time.Microsecond, 9600: 4010 * time.Microsecond,
		1200: 32083 * time.Microsecond, 115200: 1750 * time.Microsecond} {
		m, err := dialect.NewModbus(dialect.ModbusOptions{Registers: []dialect.Register{holding(1, 0), holding(2, 0)}, Baud: baud})
		require.NoError(t, err)
		request, _, _ := m.Poll(at(time.Second))
		require.Len(t, m.Feed(at(2*time.Second), truthful(request)), 1)
		send, _, wait := m.Poll(at(2 * time.Second))
		require.Nil(t, send)
		require.InDelta(t, want, wait, float64(time.Microsecond), "%d baud", baud)
		send, _, _ = m.Poll(at(2*time.Second + wait))
		require.NotNil(t, send)
	}
}

// A dead unit with many registers costs the others little: it is left alone for
// longer and longer, yet asked at least every 5 s so that its return is seen.
func TestDeadUnitDoesNotStarveTheOthers(t *testing.T) {
	registers := []dialect.Register{holding(1, 0), holding(3, 0)}
	for i := range uint16(10) {
		registers = append(registers, holding(2, 10*i))
	}
	l := newBus(newMaster(t, registers...))
	l.units[2] = silent
	l.run(60 * time.Second)
	require.GreaterOrEqual(t, l.count()[sensors.FrameGood], 100, "of 120 at best")
	require.InDelta(t, 12, l.count()[sensors.FrameNoAnswer], 3)
	require.Empty(t, l.lies())
	for _, f := range l.frames {
		if f.Result == sensors.FrameNoAnswer {
			require.True(t, strings.HasPrefix(f.Text, "unit 2, holding register "), f.Text)
			require.True(t, strings.HasSuffix(f.Text, ": no answer"), f.Text)
		}
	}
	delete(l.units, 2)
	l.frames = nil
	l.run(6 * time.Second)
	require.Contains(t, strings.Join(values(l.frames), " "), "2:holding:90=2090", "all of it is back")
}

// Whatever a unit's delay, its answer to one request never passes for the
// answer to another, though the two have the same form.
func TestLateAnswersAreNeverTakenForOthers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := newBus(newMaster(t, holding(1, 0), holding(1, 10), holding(1, 20), holding(2, 0)))
		l.delay[1] = time.Duration(rapid.IntRange(1, 1500).Draw(t, "delay of unit 1")) * time.Millisecond
		l.delay[2] = time.Duration(rapid.IntRange(1, 1500).Draw(t, "delay of unit 2")) * time.Millisecond
		l.run(20 * time.Second)
		require.Empty(t, l.lies())
		require.NotEmpty(t, l.frames)
	})
}

func TestLateAnswerIsCountedAsNotRead(t *testing.T) {
	l := newBus(newMaster(t, holding(1, 0)))
	l.delay[1] = 700 * time.Millisecond
	l.run(1400 * time.Millisecond)
	require.Equal(t, []sensors.FrameResult{sensors.FrameNoAnswer, sensors.FrameIgnored}, results(l.frames))
	require.Equal(t, "01 03 02 03 E8 B8 FA", l.frames[1].Text)
}

func TestAnswerCutOff(t *testing.T) {
	l := newBus(newMaster(t, holding(1, 0)))
	l.units[1] = func(request []byte) []byte { return truthful(request)[:4] }
	l.run(900 * time.Millisecond)
	require.Equal(t, []sensors.FrameResult{sensors.FrameCutOff}, results(l.frames))
	require.Equal(t, "01 03 02 03", l.frames[0].Text)
}

func TestAnswersToAnotherRequestAreRefused(t *testing.T) {
	answer := func(bytes ...byte) func([]byte) []byte {
		crc := dialect.CRC16(bytes)
		return func([]byte) []byte { return append(bytes, byte(crc), byte(crc>>8)) }
	}
	for name, speak := range map[string]func([]byte) []byte{
		"another unit":             answer(2, 3, 2, 0, 1),
		"another function":         answer(1, 4, 2, 0, 1),
		"another length":           answer(1, 3, 4, 0, 1, 0, 2),
		"another function refused": answer(1, 0x84, 2),
	} {
		l := newBus(newMaster(t, holding(1, 0)))
		l.units[1] = speak
		l.run(900 * time.Millisecond)
		require.Equal(t, []sensors.FrameResult{sensors.FrameGarbled}, results(l.frames), name)
		require.Empty(t, values(l.frames), name)
	}
}

func TestGarbageIsDiscardedUntilTheLineIsQuiet(t *testing.T) {
	l := newBus(newMaster(t, holding(1, 0)))
	l.arrive(10*time.Millisecond, []byte{0xFF, 0x00}) // a stray byte and the answer run together
	l.run(40 * time.Millisecond)
	require.Equal(t, []sensors.FrameResult{sensors.FrameGood}, results(l.frames))
	l.run(100 * time.Millisecond)
	require.Equal(t, []sensors.FrameResult{sensors.FrameGood, sensors.FrameGarbled}, results(l.frames))
	require.Equal(t, "FF 00", l.frames[1].Text)
	l.run(2 * time.Second)
	require.Equal(t, 3, l.count()[sensors.FrameGood])
}

func TestBabblingLineIsCountedAndRecovers(t *testing.T) {
	l := newBus(newMaster(t, holding(1, 0)))
	for i := range 1000 {
		l.arrive(time.Duration(10*i)*time.Millisecond, []byte("babble, babble, babble"))
	}
	l.run(10 * time.Second)
	require.Empty(t, values(l.frames))
	require.InDelta(t, 20, l.count()[sensors.FrameGarbled], 2, "twice a second, not for each byte")
	for _, f := range l.frames {
		require.LessOrEqual(t, len(f.Text), 120)
	}
	l.frames = nil
	l.run(3 * time.Second)
	require.GreaterOrEqual(t, l.count()[sensors.FrameGood], 2)
	require.Empty(t, l.lies())
}

// After the line was opened anew the answer to the last request before that
// may still come: it must not pass for another's.
func TestReset(t *testing.T) {
	m := newMaster(t, holding(1, 0), holding(1, 10))
	request, _, _ := m.Poll(at(time.Second))
	m.Feed(at(time.Second), truthful(request)[:3])
	m.Reset()
	send, failed, wait := m.Poll(at(1100 * time.Millisecond))
	require.Nil(t, send, "unit 1 is left alone while its answer may come")
	require.Empty(t, failed)
	require.GreaterOrEqual(t, wait, 500*time.Millisecond)
	require.Empty(t, m.Feed(at(1200*time.Millisecond), truthful(request)))
	_, failed, _ = m.Poll(at(1300 * time.Millisecond))
	require.Equal(t, []sensors.FrameResult{sensors.FrameIgnored}, results(failed))
	l := newBus(m)
	l.now = 1300 * time.Millisecond
	l.run(3 * time.Second)
	require.GreaterOrEqual(t, l.count()[sensors.FrameGood], 4)
	require.Empty(t, l.lies())
}

// Whatever units do, no value is delivered that its register does not hold, a
// poll always says when to come back, and requests never overlap.
func TestAnyLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := newBus(newMaster(t, holding(1, 0), holding(1, 5), input(1, 5), holding(2, 0), holding(3, 7)))
		moods := rapid.SliceOfN(rapid.SampledFrom([]string{"answer", "silent", "late", "half", "flip", "noise"}), 12, 12).Draw(t, "moods")
		n := 0
		for unit := range uint8(4) {
			l.units[unit] = func(request []byte) []byte {
				n++
				answer := truthful(request)
				l.delay[unit] = 5 * time.Millisecond
				switch moods[n%len(moods)] {
				case "silent":
					return nil
				case "late":
					l.delay[unit] = 800 * time.Millisecond
				case "half":
					return answer[:n%len(answer)]
				case "flip":
					answer[n%len(answer)] ^= 1 << (n % 8)
				case "noise":
					return append(answer[:2], "noise"...)
				}
				return answer
			}
		}
		l.run(15 * time.Second)
		require.Empty(t, l.lies())
		require.NotEmpty(t, l.asked)
		for i := 1; i < len(l.sent); i++ {
			require.Greater(t, l.sent[i]-l.sent[i-1], 1750*time.Microsecond)
		}
	})
}

// A line too slow for what is asked of it serves every unit equally often.
func TestOverloadedLineServesAllEqually(t *testing.T) {
	registers := []dialect.Register{}
	for unit := range uint8(20) {
		registers = append(registers, holding(unit+1, 0))
	}
	m, err := dialect.NewModbus(dialect.ModbusOptions{Registers: registers, Every: 20 * time.Millisecond})
	require.NoError(t, err)
	l := newBus(m)
	l.run(10 * time.Second)
	turns := map[string]int{}
	for _, request := range l.asked {
		turns[request]++
	}
	require.Len(t, turns, 20)
	for request, n := range turns {
		require.InDelta(t, len(l.asked)/20, n, 1, request)
	}
}

// A unit that has answered again is as good as new: its next failure costs it
// one second, not the long pause of a unit that has been dead.
func TestAnswerEndsTheLongPause(t *testing.T) {
	l := newBus(newMaster(t, holding(1, 0)))
	l.units[1] = silent
	l.run(20 * time.Second)
	delete(l.units, 1)
	l.run(7 * time.Second)
	require.Equal(t, sensors.FrameGood, l.frames[len(l.frames)-1].Result)
	l.units[1] = silent
	l.run(1100 * time.Millisecond)
	delete(l.units, 1)
	l.frames = nil
	l.run(2 * time.Second)
	require.Contains(t, values(l.frames), "1:holding:0=1000")
}

// A request of 8 characters and an answer of 5 and two a register take 15 for one register, of 11 bits each:
// 17.2 ms at 9600 baud, besides the half second that a unit may think.
func TestAnAnswerMayTakeWhatTheLineNeedsAndHalfASecond(t *testing.T) {
	for count, want := range map[uint16]time.Duration{1: 517187500, 10: 537812500} {
		var registers []dialect.Register
		for number := range count {
			registers = append(registers, holding(1, number))
		}
		m, err := dialect.NewModbus(dialect.ModbusOptions{Registers: registers, Baud: 9600})
		require.NoError(t, err)
		send, _, wait := m.Poll(at(time.Second))
		require.NotNil(t, send)
		require.InDelta(t, want, wait, float64(time.Millisecond), "%d registers", count)
		_, failed, _ := m.Poll(at(time.Second + wait - 1))
		require.Empty(t, failed)
		_, failed, _ = m.Poll(at(time.Second + wait))
		require.Equal(t, []sensors.FrameResult{sensors.FrameNoAnswer}, results(failed))
	}
}
