// Package ride says what road, spring and damping ask of a wheel's travel.
//
// So far it covers the road: how far a wheel moves on a road of a class of
// ISO 8608 at a speed, by the linear quarter car. All of it is closed forms;
// nothing is simulated.
//
// Units are SI inside; where a field is named after a unit (N/mm, km/h), that
// is its unit.
package ride
