// Package linkage turns the pick-up points of a suspension into the length of
// its damper over the whole travel of the wheel, and into the travel that this
// asks of a damper.
//
// # Axes and signs
//
// Points stand in axes fixed to the body with the directions of ISO 8855:2011:
// x forward, y left, z up. The body stands still and the wheel moves. Wheel
// travel z is the vertical movement of the wheel centre from ride height,
// positive in bump. The damper's length is L(z), and its motion ratio
//
//	MR(z) = -dL/dz = -n·dP/dz,  n = (P - U)/L
//
// is damper travel over wheel travel, positive where bump shortens the damper;
// U is the damper's upper end, which is on the body, and P its lower end, which
// the suspension carries. Every derivative is analytic.
//
// # Kinds
//
//   - [Inclined]: the lower end goes straight up and down with the wheel.
//   - [SwingArm]: one arm about an axis anywhere in space: trailing,
//     semi-trailing, swing axle.
//   - [SolidAxle]: a rigid axle in heave and in roll.
//   - [DoubleWishbone]: two arms, an upright and a tie rod in space, or the
//     same without a tie rod in the plane across the vehicle.
//
// [New] checks the points and gives a [Linkage]. All four kinds answer
// [Linkage.At]; an axle answers [Linkage.Pose] and [Linkage.Corner] as well.
// Points go in and results that people see come out as exact [unit.Length];
// between the two everything is float64 millimetres.
//
// # Not counted
//
// Links are rigid and joints have no play. An axle's sideways movement on its
// locating link is neglected.
package linkage
