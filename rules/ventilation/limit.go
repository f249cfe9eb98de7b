package ventilation

import (
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Shares says which parts of the commissioned flow count as low, as moving
// again after low, and as stopped, in percent.
type Shares struct {
	Low, Clear, Stopped quantity.Percent
}

// CommonShares are 80 % low (common practice), 85 % moving again and 10 % stopped
// (choices of this program, to be set for the room).
func CommonShares() Shares { return Shares{Low: 80, Clear: 85, Stopped: 10} }

// Basis says what the reference flow of limits is.
type Basis string

// The bases of limits.
const (
	ByCommissioning Basis = "commissioned" // measured by a traverse
	ByRequirement   Basis = "required"     // never commissioned: only asked for
)

// Limits are the flows at which the state of the air changes. The zero Limits
// judge nothing.
type Limits struct {
	Reference  quantity.CubicMetrePerHour // the flow that is called 100 %
	Basis      Basis                      // what that flow is
	Low        quantity.CubicMetrePerHour // below: low
	Clear      quantity.CubicMetrePerHour // at or above, after low: moving again
	Stopped    quantity.CubicMetrePerHour // below: stopped
	Derivation phrase.Sentence            // how they follow from the commissioned flow, in words
}

// DeriveLimits gives the limits for a commissioned flow, with their derivation.
func DeriveLimits(commissioned quantity.CubicMetrePerHour, s Shares) (Limits, error) {
	if err := positive(phrase.Say("commissioned flow"), float64(commissioned), "m³/h"); err != nil {
		return Limits{}, err
	}
	if !(s.Stopped > 0 && s.Stopped < s.Low && s.Low <= s.Clear && s.Clear <= 100) {
		return Limits{}, phrase.Errorf("shares of %g, %g and %g %% are not usable: expected stopped below low, low at most clear, clear at "+
			"most 100 %%",
			float64(s.Stopped), float64(s.Low), float64(s.Clear))
	}
	of := func(p quantity.Percent) quantity.CubicMetrePerHour {
		return commissioned * quantity.CubicMetrePerHour(p/100)
	}
	l := Limits{Reference: commissioned, Basis: ByCommissioning, Low: of(s.Low), Clear: of(s.Clear), Stopped: of(s.Stopped)}
	l.Derivation = phrase.Say("commissioned %s; low below %g %% of it = %s, moving again from %g %% = %s, stopped below %g %% = %s",
		commissioned.To(0.1), float64(s.Low), l.Low.To(0.1), float64(s.Clear), l.Clear.To(0.1), float64(s.Stopped), l.Stopped.To(0.1))
	return l, nil
}

// regainShare is how far above a required flow the air must be, after low, to
// count as moving again; stoppedShare is where it counts as stopped (choices of this program).
const (
	regainShare  = 1.05
	stoppedShare = 0.10
)

// RequiredLimits judge a room that was never commissioned by the required flow
// alone. A flow of zero or less gives the zero Limits, which judge nothing.
func RequiredLimits(flow quantity.CubicMetrePerHour) Limits {
	if !(flow > 0) {
		return Limits{}
	}
	l := Limits{Reference: flow, Basis: ByRequirement, Low: flow, Clear: flow * regainShare, Stopped: flow * stoppedShare}
	l.Derivation = phrase.Say("not commissioned; low below the required %s, moving again from %s, stopped below %s",
		l.Low.To(0.1), l.Clear.To(0.1), l.Stopped.To(0.1))
	return l
}
