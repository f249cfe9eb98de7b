// Package dialect reads what probes send, and writes it for a simulated room.
// Each dialect is a [wetside/sensors.Decoder], a state machine without a clock
// and without I/O:
//
//   - [Text], a checked line of printable characters that any microcontroller can print;
//   - [XDR], the transducer sentences of IEC 61162-1 (NMEA 0183);
//   - [Modbus], a master on a Modbus RTU line that reads registers, and [ModbusTCP] on a network;
//   - [OneWire], thermometers on a 1-Wire bus as Linux shows them;
//   - [CO2Meter], the reports of a USB meter of carbon dioxide;
//   - [MQTT], the messages of a broker.
//
// A value is only ever delivered from a frame whose checksum was right, if its form has one:
// Modbus TCP and MQTT leave that to the network.
//
// # The text line
//
// One line carries the channels of a probe, separated by spaces, then a
// semicolon and the checksum, and ends with CR, LF or both:
//
//	dev=20.31C fix=20.0C fan=1;D8D3
//
// A channel is a name of 1 to 16 letters, digits, '-', '_' or '.', an equals
// sign, a plain decimal number and a unit of up to 12 printable characters,
// which a contact leaves out. A channel that cannot measure sends a question
// mark for the number, as in dev=?; whatever else is not a number counts as one.
// The checksum is [CRC16] over every character before the semicolon, as four
// hexadecimal digits. A line has at most [LongestLine] characters without its end.
package dialect
