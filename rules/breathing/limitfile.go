package breathing

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"wetside/rules/dated"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Limits are the agents and limit rows of one file.
type Limits struct {
	Agents []Agent
	Rows   []Limit
}

type limitFile struct {
	Agent []struct {
		Name      string  `toml:"name"`
		CAS       string  `toml:"cas"`
		MolarMass float64 `toml:"molar_mass"`
		Irritant  bool    `toml:"irritant"`
	} `toml:"agent"`
	Limit []limitRow `toml:"limit"`
}

type limitRow struct {
	Agent        string          `toml:"agent"`
	Jurisdiction string          `toml:"jurisdiction"`
	Edition      string          `toml:"edition"`
	Kind         string          `toml:"kind"`
	Window       string          `toml:"window"`
	Value        float64         `toml:"value"`
	Unit         string          `toml:"unit"`
	Effective    *toml.LocalDate `toml:"effective_from"`
	Standing     string          `toml:"standing"`
	Source       string          `toml:"source"`
}

// ParseLimits reads a limits file. Unknown keys, rows without a source, agents
// without a molar mass and limits for agents not listed are refused.
func ParseLimits(data []byte) (Limits, error) {
	var file limitFile
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&file); err != nil {
		var strict *toml.StrictMissingError
		if errors.As(err, &strict) {
			return Limits{}, phrase.Errorf("limits: a key that is not known:\n%s", strict.String())
		}
		return Limits{}, phrase.Errorf("limits: %w", err)
	}
	var out Limits
	for _, a := range file.Agent {
		agent := Agent{Name: a.Name, CAS: a.CAS, MolarMass: quantity.GramPerMole(a.MolarMass), Irritant: a.Irritant}
		if err := out.addAgent(agent); err != nil {
			return Limits{}, err
		}
	}
	for i, row := range file.Limit {
		limit, err := row.limit()
		if err != nil {
			return Limits{}, phrase.Errorf("limits: row %d: %w", i+1, err)
		}
		if _, ok := out.Find(limit.Agent); !ok {
			return Limits{}, phrase.Errorf("limits: row %d: agent %q is not listed: add an [[agent]] with that name", i+1, limit.Agent)
		}
		if slices.ContainsFunc(out.Rows, func(l Limit) bool { return l.SameAs(limit) && l.Effective.Equal(limit.Effective) }) {
			return Limits{}, phrase.Errorf("limits: row %d: %s, %s is listed twice: give the later edition its own effective_from", i+1,
				limit.name(), limit.Kind)
		}
		out.Rows = dated.Amend(out.Rows, limit)
	}
	return out, nil
}

func (l *Limits) addAgent(a Agent) error {
	if strings.TrimSpace(a.Name) == "" {
		return phrase.Errorf("limits: an agent without a name")
	}
	if !(a.MolarMass > 0) || a.MolarMass > 1e6 {
		return phrase.Errorf("limits: agent %s: a molar mass of %g g/mol is not usable: expected more than zero", a.Name, float64(a.MolarMass))
	}
	if _, twice := l.Find(a.Name); twice {
		return phrase.Errorf("limits: agent %s is listed twice", a.Name)
	}
	l.Agents = append(l.Agents, a)
	return nil
}

func (r limitRow) limit() (Limit, error) {
	unit, err := quantity.ParseUnit(r.Unit)
	if err != nil {
		return Limit{}, phrase.Errorf("%s, %s: %w", r.Agent, r.Jurisdiction, err)
	}
	l := Limit{
		Agent: r.Agent, Jurisdiction: r.Jurisdiction, Edition: r.Edition, Kind: LimitKind(r.Kind),
		Value: r.Value, Unit: unit, Standing: Standing(r.Standing), Source: r.Source,
	}
	if r.Window != "" {
		if l.Window, err = time.ParseDuration(r.Window); err != nil {
			return Limit{}, phrase.Errorf("%s, %s: window %q is not a time: write it like 8h or 15m", r.Agent, r.Jurisdiction, r.Window)
		}
	}
	if r.Effective != nil {
		l.Effective = r.Effective.AsTime(time.UTC)
	}
	return l, l.Check()
}

// Find gives the gas of a name.
func (l Limits) Find(name string) (Agent, bool) {
	i := slices.IndexFunc(l.Agents, func(a Agent) bool { return a.Name == name })
	if i < 0 {
		return Agent{}, false
	}
	return l.Agents[i], true
}

// Of gives the rows for an agent in the jurisdictions named, in that order; with none
// named all of them. Which of them are in force is a question of the day.
func (l Limits) Of(agent string, jurisdictions ...string) []Limit {
	rows := slices.DeleteFunc(slices.Clone(l.Rows), func(row Limit) bool {
		return row.Agent != agent || len(jurisdictions) > 0 && !slices.Contains(jurisdictions, row.Jurisdiction)
	})
	slices.SortStableFunc(rows, func(a, b Limit) int {
		return slices.Index(jurisdictions, a.Jurisdiction) - slices.Index(jurisdictions, b.Jurisdiction)
	})
	return rows
}

// InForce keeps the rows in force at a date, the long-term ones lowered where people stay
// for a longer shift than they are meant for; a shift of zero lowers none.
func InForce(rows []Limit, at time.Time, shift time.Duration) []Limit {
	kept := make([]Limit, 0, len(rows))
	for _, row := range rows {
		if !row.Holds(at) {
			continue
		}
		if row.Window < shift {
			if lowered, err := row.ForShift(shift); err == nil {
				row = lowered
			}
		}
		kept = append(kept, row)
	}
	return kept
}
