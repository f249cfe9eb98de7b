package air

import "wetside/dashboard/web"

func agentField() web.Field      { return web.Field{Name: "agent", Label: "Gas"} }
func askedField() web.Field      { return web.Field{Name: "asked", Label: "Kind of requirement"} }
func backgroundField() web.Field { return web.Field{Name: "background", Label: "Outdoors"} }
func beganField() web.Field      { return web.Field{Name: "began", Label: "From"} }
func certaintyField() web.Field {
	return web.Field{Name: "certainty", Label: "Uncertainty of the instrument, in % of the reading"}
}
func certifiedField() web.Field {
	return web.Field{Name: "certified", Label: "Calibration certificate number"}
}
func certifiedUntilField() web.Field {
	return web.Field{Name: "certified-until", Label: "Certificate valid until"}
}
func complaintField() web.Field     { return web.Field{Name: "complaint", Label: "What do you notice?"} }
func conditionsField() web.Field    { return web.Field{Name: "conditions", Label: "Conditions"} }
func crowdField() web.Field         { return web.Field{Name: "crowd", Label: "People in the room"} }
func dayField() web.Field           { return web.Field{Name: "day", Label: "Day"} }
func designField() web.Field        { return web.Field{Name: "design", Label: "Design flow of the exhaust"} }
func drillField() web.Field         { return web.Field{Name: "drill", Label: "What was practised"} }
func dropField() web.Field          { return web.Field{Name: "drop", Label: "Reason for less air than before"} }
func dueField() web.Field           { return web.Field{Name: "due", Label: "Next traverse due by"} }
func unexposedFromField() web.Field { return web.Field{Name: "effective", Label: "For classes from"} }
func emptyField() web.Field         { return web.Field{Name: "empty", Label: "During the decay"} }
func endedField() web.Field         { return web.Field{Name: "ended", Label: "To"} }
func errorField() web.Field         { return web.Field{Name: "error", Label: "Probe error, up to"} }
func figureField() web.Field        { return web.Field{Name: "figure", Label: "Limit"} }
func requiredField() web.Field      { return web.Field{Name: "figure", Label: "Required value"} }
func fixedField() web.Field {
	return web.Field{Name: "fixed", Label: "Reading of the fixed probe during the traverse"}
}
func foundField() web.Field        { return web.Field{Name: "found", Label: "Result"} }
func heardField() web.Field        { return web.Field{Name: "heard", Label: "Heard"} }
func jurisdictionField() web.Field { return web.Field{Name: "jurisdiction", Label: "Jurisdiction"} }
func limitField() web.Field        { return web.Field{Name: "limit", Label: "Kind of limit"} }
func meterField() web.Field        { return web.Field{Name: "meter", Label: "Instrument"} }
func minutesField() web.Field      { return web.Field{Name: "minutes", Label: "For how long"} }
func peopleField() web.Field       { return web.Field{Name: "people", Label: "People in the room"} }
func phaseField() web.Field        { return web.Field{Name: "phase", Label: "Phase"} }
func placeField() web.Field        { return web.Field{Name: "place", Label: "Loudspeaker"} }
func pointsField() web.Field {
	return web.Field{Name: "points", Label: "Or points of a hand-held instrument"}
}
func pressureField() web.Field {
	return web.Field{Name: "pressure", Label: "Room pressure during the traverse"}
}
func rowField() web.Field          { return web.Field{Name: "row", Label: "Requirement"} }
func settledField() web.Field      { return web.Field{Name: "settled", Label: "Level CO2 reading"} }
func standingField() web.Field     { return web.Field{Name: "standing", Label: "How sure the limit is"} }
func titleField() web.Field        { return web.Field{Name: "title", Label: "Title"} }
func untilField() web.Field        { return web.Field{Name: "until", Label: "Planned end"} }
func unexposedWhyField() web.Field { return web.Field{Name: "why", Label: "How you know"} }
func windowField() web.Field       { return web.Field{Name: "window", Label: "Averaged over"} }
func zerosField() web.Field        { return web.Field{Name: "zeros", Label: "Points that read 0 m/s"} }

func methodField() web.Field   { return web.Field{Name: "method", Label: "Method"} }
func shapeField() web.Field    { return web.Field{Name: "shape", Label: "Shape of the duct"} }
func diameterField() web.Field { return web.Field{Name: "diameter", Label: "Inside diameter"} }
func widthField() web.Field    { return web.Field{Name: "width", Label: "Inside width"} }
func heightField() web.Field   { return web.Field{Name: "height", Label: "Inside height"} }
