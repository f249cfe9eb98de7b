package air

import "wetside/dashboard/web"

var (
	agentField          = web.Field{Name: "agent", Label: "Gas"}
	askedField          = web.Field{Name: "asked", Label: "Kind of requirement"}
	backgroundField     = web.Field{Name: "background", Label: "Outdoors"}
	beganField          = web.Field{Name: "began", Label: "From"}
	certaintyField      = web.Field{Name: "certainty", Label: "Uncertainty of the instrument, in % of the reading"}
	certifiedField      = web.Field{Name: "certified", Label: "Calibration certificate number"}
	certifiedUntilField = web.Field{Name: "certified-until", Label: "Certificate valid until"}
	conditionsField     = web.Field{Name: "conditions", Label: "Conditions"}
	crowdField          = web.Field{Name: "crowd", Label: "People in the room"}
	dayField            = web.Field{Name: "day", Label: "Day"}
	designField         = web.Field{Name: "design", Label: "Design flow of the exhaust"}
	dropField           = web.Field{Name: "drop", Label: "Reason for less air than before"}
	dueField            = web.Field{Name: "due", Label: "Next traverse due by"}
	unexposedFromField  = web.Field{Name: "effective", Label: "For classes from"}
	emptyField          = web.Field{Name: "empty", Label: "During the decay"}
	endedField          = web.Field{Name: "ended", Label: "To"}
	errorField          = web.Field{Name: "error", Label: "Probe error, up to"}
	figureField         = web.Field{Name: "figure", Label: "Limit"}
	requiredField       = web.Field{Name: "figure", Label: "Required value"}
	fixedField          = web.Field{Name: "fixed", Label: "Reading of the fixed probe during the traverse"}
	jurisdictionField   = web.Field{Name: "jurisdiction", Label: "Jurisdiction"}
	limitField          = web.Field{Name: "limit", Label: "Kind of limit"}
	meterField          = web.Field{Name: "meter", Label: "Instrument"}
	minutesField        = web.Field{Name: "minutes", Label: "For how long"}
	peopleField         = web.Field{Name: "people", Label: "People in the room"}
	phaseField          = web.Field{Name: "phase", Label: "Phase"}
	pointsField         = web.Field{Name: "points", Label: "Or points read by hand"}
	pressureField       = web.Field{Name: "pressure", Label: "Room pressure during the traverse"}
	rowField            = web.Field{Name: "row", Label: "Requirement"}
	limitRowField       = web.Field{Name: rowField.Name, Label: "Limit"}
	settledField        = web.Field{Name: "settled", Label: "Level CO2 reading"}
	standingField       = web.Field{Name: "standing", Label: "How sure the limit is"}
	titleField          = web.Field{Name: "title", Label: "Title"}
	untilField          = web.Field{Name: "until", Label: "Planned end"}
	unexposedWhyField   = web.Field{Name: "why", Label: "How you know"}
	windowField         = web.Field{Name: "window", Label: "Averaged over"}
	zerosField          = web.Field{Name: "zeros", Label: "Points that read 0 m/s"}

	methodField   = web.Field{Name: "method", Label: "Method"}
	shapeField    = web.Field{Name: "shape", Label: "Shape of the duct"}
	diameterField = web.Field{Name: "diameter", Label: "Inside diameter"}
	widthField    = web.Field{Name: "width", Label: "Inside width"}
	heightField   = web.Field{Name: "height", Label: "Inside height"}
)
