package rules

import (
	"strings"
	"unicode/utf8"

	"wetside/rules/alarm"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// The speakers give the words of an alarm when they are asked for; most turns nobody asks.
type (
	airSpeaker     struct{ *Snapshot }
	lowSpeaker     struct{ *Snapshot }
	proofSpeaker   struct{ *Snapshot }
	disputeSpeaker struct{ *Snapshot }
	hoodSpeaker    struct{ *Snapshot }
	makeUpSpeaker  struct{ *Snapshot }
	channelSpeaker struct{ *ChannelView }
	bandSpeaker    struct{ *BathView }
	lineSpeaker    struct {
		line *LineView
		room *Snapshot
	}
)

// Words of no air. A fan that is switched on and moves nothing has other causes than one that is off.
func (s airSpeaker) Words() alarm.Words {
	w := alarm.Words{Text: phrase.Say("The air has stopped"), Cause: s.Air.Sentence,
		Act: phrase.Say("Switch the fan on. If that does not help, cover the trays and send everybody out.")}
	if s.Air.has(ventilation.CommandNoFlow) {
		w.Text = phrase.Say("The fan is on, but no air moves")
		w.Act = phrase.Say("Check the belt, the damper and the breaker. If that does not help, cover the trays and send everybody out.")
	}
	return w
}

// Words of too little air.
func (s lowSpeaker) Words() alarm.Words {
	return alarm.Words{Text: phrase.Say("Too little air is moving"), Cause: s.Air.Sentence,
		Act: phrase.Say("Check the fan's speed, the filter and the grilles. If that does not help, cover the trays.")}
}

// Words of a flow that nobody can vouch for.
func (s proofSpeaker) Words() alarm.Words {
	if s.Air.Flow != nil && s.Air.Required == 0 && s.Air.Commissioned.Flow == 0 {
		return alarm.Words{Text: phrase.Say("No ventilation requirement is entered"), Cause: s.Air.Sentence,
			Act: phrase.Say("Enter what your code or your house requires, under Gases and limits.")}
	}
	return alarm.Words{Text: phrase.Say("Airflow unknown"), Cause: s.Air.Sentence,
		Act: phrase.Say("Hold a strip of paper to the grille, and check the air probe.")}
}

// Words of readings that contradict each other.
func (s disputeSpeaker) Words() alarm.Words {
	w := alarm.Words{Text: phrase.Say("The air readings disagree: airflow not proven"), Cause: s.Air.Sentence,
		Act: phrase.Say("Hold a strip of paper to the grille. If air moves, check the probes named on the Air page.")}
	if s.Air.MayStand {
		w.Text = phrase.Say("The air may have stopped: the readings disagree")
		w.Act = phrase.Say("Switch the fan on and hold a strip of paper to the grille. If no air moves, cover the trays and send everybody out.")
	}
	return w
}

// Words of a place of the hood that draws too little.
func (s hoodSpeaker) Words() alarm.Words {
	w := alarm.Words{Text: phrase.Say("Part of the hood draws too little air"), Cause: s.Air.Sentence,
		Act: phrase.Say("Clear what covers the slot of the hood there. If that does not help, cover the trays there.")}
	if weak, known := s.Air.Weak.Get(); known {
		w.Text = phrase.Say("The hood draws too little air %s", weak)
	}
	return w
}

// Words of make-up air that can't get in.
func (s makeUpSpeaker) Words() alarm.Words {
	w := alarm.Words{Text: phrase.Say("Fresh air can't get into the room"),
		Act: phrase.Say("Look for a covered grille or a sealed door and clear it."), Cause: s.Air.Sentence}
	for _, c := range s.Air.Contradictions {
		if c.Conflict == ventilation.MakeUpBlocked {
			w.Cause = c.Sentence
		}
	}
	return w
}

// Words of a line that went silent, with what nobody can know meanwhile.
func (s lineSpeaker) Words() alarm.Words {
	w := alarm.Words{Text: phrase.Say("No readings from %s", s.line.Line.Name), Act: phrase.Say("Check its plug and cable."),
		Cause: phrase.Say("line %s is %s", s.line.Line.ID, s.line.Status.State)}
	if s.line.Status.State == sensors.StateLive && s.room.allSilent(s.line.Line.ID) {
		w.Cause = phrase.Say("line %s is heard, and all its readings are too old", s.line.Line.ID)
	}
	if lost := s.line.Status.Lost(); !lost.IsZero() {
		w.Cause = phrase.Say("%s: %s", w.Cause, lost)
	}
	if n := len(s.line.Line.Channels); n > 1 {
		w.Cause = phrase.Say("%s; %d channels depend on it", w.Cause, n)
	}
	if probe, found := flowProbe(s.room.Channels); found && probe.Line == s.line.Line.ID && !s.room.Air.State.Known() {
		w.Text = phrase.Say("No readings from %s: airflow unknown", s.line.Line.Name)
		w.Act = phrase.Say("Check its plug and cable. Meanwhile hold a strip of paper to the grille.")
	}
	return w
}

// Words of a probe that gives nothing usable.
func (s channelSpeaker) Words() alarm.Words {
	w := alarm.Words{Text: phrase.Say("%s gives no usable value", s.Channel.Name), Cause: phrase.Say("%s is %s", s.Channel.Name, s.Why()),
		Act: phrase.Say("Check that the probe is in the tray and its cable is whole.")}
	if s.Channel.Kind != sensors.BathTemperature {
		w.Act = phrase.Say("Check the probe and its cable.")
	}
	return w
}

// Words of a bath that is too warm or too cold.
func (s bandSpeaker) Words() alarm.Words {
	w := alarm.Words{Text: phrase.Say("%s is out of its temperature range", s.Bath.Name), Act: phrase.Say("Cool the tray")}
	c, known := s.Temperature()
	wanted := s.Bath.Band
	if known && 2*float64(c) < wanted.Low+wanted.High { // it may have come back over its limit by less than ends the alarm
		w.Act = phrase.Say("Put hot water round the tray")
	}
	_, timed := s.Recommendation.Time()
	switch {
	case s.Bath.Role != Developer:
		w.Act = phrase.Say("%s.", w.Act)
	case timed:
		w.Act = phrase.Say("%s, or announce the time for this temperature.", w.Act)
	default:
		w.Act = phrase.Say("%s: until then no developing time is known.", w.Act)
	}
	w.Cause = phrase.Say("its temperature is %s", s.Channel.Why())
	if known {
		w.Cause = phrase.Say("%s, wanted %s to %s", c.To(0.1), quantity.Celsius(wanted.Low).To(0.1).Bare(), quantity.Celsius(wanted.High).To(0.1))
	}
	return w
}

// sentence makes an error the sentence of a page.
func sentence(err error) phrase.Sentence { return phrase.Say("%s.", begun{err}) }

// begun is an error that begins with a capital, in any language.
type begun struct{ error }

// Error tells it in English.
func (b begun) Error() string { return capital(b.error.Error()) }

// By tells it as a place does.
func (b begun) By(t phrase.Place) string { return capital(phrase.Error(b.error, t)) }

func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return strings.ToUpper(string(first)) + text[size:]
}
