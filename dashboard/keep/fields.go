package keep

import "wetside/dashboard/web"

func accuracyField() web.Field { return web.Field{Name: "accuracy", Label: "Stated accuracy, ±"} }
func afterField() web.Field    { return web.Field{Name: "after", Label: "Sheet lit after the enlarger"} }
func asFoundField() web.Field  { return web.Field{Name: "as-found", Label: "As found"} }
func asLeftField() web.Field   { return web.Field{Name: "as-left", Label: "As left"} }
func beforeField() web.Field {
	return web.Field{Name: "before", Label: "Sheet lit before the enlarger"}
}
func brightnessField() web.Field {
	return web.Field{Name: "brightness", Label: "Its brightness, as set"}
}
func certificateField() web.Field { return web.Field{Name: "certificate", Label: "Certificate number"} }
func correctField() web.Field {
	return web.Field{Name: "correct", Label: "Correct readings from now on"}
}
func followedField() web.Field   { return web.Field{Name: "followed", Label: "Did the contact follow?"} }
func fromField() web.Field       { return web.Field{Name: "from", Label: "Since when"} }
func instrumentField() web.Field { return web.Field{Name: "instrument", Label: "Reference instrument"} }
func layField() web.Field        { return web.Field{Name: "lay", Label: "Where the paper lay"} }
func makeField() web.Field       { return web.Field{Name: "make", Label: "Make and type"} }
func nextField() web.Field       { return web.Field{Name: "next", Label: "Next check due on"} }
func offsetField() web.Field     { return web.Field{Name: "offset", Label: "Offset"} }
func paperField() web.Field      { return web.Field{Name: "paper", Label: "Paper"} }
func probeField() web.Field      { return web.Field{Name: "probe", Label: "Label or serial number"} }
func referenceField() web.Field  { return web.Field{Name: "reference", Label: "Reference reading"} }
func screenField() web.Field     { return web.Field{Name: "screen", Label: "Name of this screen"} }
func slopeField() web.Field      { return web.Field{Name: "slope", Label: "Slope"} }
func uncertaintyField() web.Field {
	return web.Field{Name: "uncertainty", Label: "Its uncertainty, ±"}
}
func referenceUncertaintyField() web.Field {
	return web.Field{Name: "uncertainty", Label: "Uncertainty of the reference, ±"}
}
func valueField() web.Field { return web.Field{Name: "value", Label: "Hand thermometer shows"} }
func withField() web.Field  { return web.Field{Name: "with", Label: "Thermometer used"} }

// The fields of the first start.

func unitAddressField() web.Field { return web.Field{Name: "modbus-unit", Label: "Unit address"} }
func registerField() web.Field    { return web.Field{Name: "register", Label: "Register"} }
func roomField() web.Field        { return web.Field{Name: "room", Label: "Name of the room"} }
func volumeField() web.Field      { return web.Field{Name: "volume", Label: "Volume of the room"} }
func floorField() web.Field       { return web.Field{Name: "floor", Label: "Floor of the room"} }
func ductField() web.Field        { return web.Field{Name: "duct", Label: "Diameter of the exhaust duct"} }
func readingField() web.Field {
	return web.Field{Name: "reading", Label: "How figures are written here"}
}
func channelNameField() web.Field { return web.Field{Name: "name", Label: "Name"} }
