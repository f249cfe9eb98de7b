package keep

import "wetside/dashboard/web"

var (
	accuracyField             = web.Field{Name: "accuracy", Label: "Stated accuracy, ±"}
	afterField                = web.Field{Name: "after", Label: "Sheet lit after the enlarger"}
	asFoundField              = web.Field{Name: "as-found", Label: "As found"}
	asLeftField               = web.Field{Name: "as-left", Label: "As left"}
	beforeField               = web.Field{Name: "before", Label: "Sheet lit before the enlarger"}
	brightnessField           = web.Field{Name: "brightness", Label: "Its brightness, as set"}
	certificateField          = web.Field{Name: "certificate", Label: "Certificate number"}
	correctField              = web.Field{Name: "correct", Label: "Correct readings from now on"}
	followedField             = web.Field{Name: "followed", Label: "Did the contact follow?"}
	fromField                 = web.Field{Name: "from", Label: "Since when"}
	instrumentField           = web.Field{Name: "instrument", Label: "Reference instrument"}
	layField                  = web.Field{Name: "lay", Label: "Where the paper lay"}
	makeField                 = web.Field{Name: "make", Label: "Make and type"}
	nextField                 = web.Field{Name: "next", Label: "Next check due on"}
	offsetField               = web.Field{Name: "offset", Label: "Offset"}
	paperField                = web.Field{Name: "paper", Label: "Paper"}
	probeField                = web.Field{Name: "probe", Label: "Label or serial number"}
	referenceField            = web.Field{Name: "reference", Label: "Reference reading"}
	screenField               = web.Field{Name: "screen", Label: "Name of this screen"}
	slopeField                = web.Field{Name: "slope", Label: "Slope"}
	uncertaintyField          = web.Field{Name: "uncertainty", Label: "Its uncertainty, ±"}
	referenceUncertaintyField = web.Field{Name: "uncertainty", Label: "Uncertainty of the reference, ±"}
	valueField                = web.Field{Name: "value", Label: "Hand thermometer shows"}
	withField                 = web.Field{Name: "with", Label: "Thermometer used"}
)

// The fields of the first start.

var (
	unitAddressField = web.Field{Name: "modbus-unit", Label: "Unit address"}
	registerField    = web.Field{Name: "register", Label: "Register"}
	roomField        = web.Field{Name: "room", Label: "Name of the room"}
	volumeField      = web.Field{Name: "volume", Label: "Volume of the room"}
	floorField       = web.Field{Name: "floor", Label: "Floor of the room"}
	ductField        = web.Field{Name: "duct", Label: "Diameter of the exhaust duct"}
	readingField     = web.Field{Name: "reading", Label: "Units and decimal sign"}
	channelNameField = web.Field{Name: "name", Label: "Name"}
)
