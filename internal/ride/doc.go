// Package ride says what road, spring and damping ask of a wheel's travel.
//
// So far it holds the road: how far a corner of a vehicle moves over a road of
// a class of ISO 8608 at a speed, by the linear quarter car. Everything in it
// is a closed form; nothing is simulated.
//
// Units are SI inside; where a field is named after a unit (N/mm, km/h), that
// is its unit.
package ride
