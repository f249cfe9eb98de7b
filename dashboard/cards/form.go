package cards

// ActAcknowledge is the act of having seen to an alarm.
const ActAcknowledge = "acknowledge"
