package chem

import (
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// PercentPlan says how much of a percent solution (by volume) and of water make
// a total of a weaker one: volume needed = total x wanted / stock.
func PercentPlan(stock, wanted quantity.Percent, total quantity.Millilitre) (Plan, error) {
	if !(stock > 0 && stock <= 100) {
		return Plan{}, phrase.Errorf("%g %% is not a solution to dilute: it must be more than 0 and at most 100 %%", float64(stock))
	}
	if !(wanted > 0 && wanted <= stock) {
		return Plan{}, phrase.Errorf("%g %% cannot be made by diluting %g %%: it must be more than 0 and no stronger", float64(wanted),
			float64(stock))
	}
	return Parts{Concentrate: float64(wanted), Water: float64(stock - wanted)}.Plan(total)
}
