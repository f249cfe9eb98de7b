// Package ventilation judges whether a room is ventilated, from what was measured.
//
// It turns velocity pressures into flows, flows into air changes, air changes
// into purge minutes; it holds required values as rows with a source; it says
// in a word and a sentence whether the air moves, and names what contradicts
// it. Airflow is evidence of a control, not of what anyone breathed. What which
// readings prove together shows proof.svg, drawn by the test of [Prove].
//
// Everything here is pure: no clock, no input or output, no state kept between
// calls. Times come in as values.
package ventilation
