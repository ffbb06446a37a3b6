// Package fit turns a request and a catalogue's snapshot into ranked fits, near
// misses with what would make each a fit, and the reasons for the rest.
//
// # What an answer claims
//
// For each claim: what it takes into account, and what it leaves out.
//
//	travel        both ends' corrections, ride height, planned change, adapters, a stop on the
//	              damper's rod; on each side of the vehicle the worse one
//	        not   the rubber of eyes and studs, which gives way by a little
//	needs         by rule, stated, to stops fixed in the vehicle, or by a road; the range of
//	              ride heights; what ends droop; the motion ratio at its nominal and its
//	              worst value
//	        not   how the ratio changes over the travel, but with a linkage: over 75 mm a
//	              caution says so; braking, cornering and roll beyond what was stated; by a
//	              road, single obstacles and what the stops do to the movement
//	marginal      the least travel both ways at the mean of each side
//	tight         the least travel with the least and greatest reading, the readings'
//	              tolerance, gaps, motion ratio, assumed stacks and the damper's own
//	              tolerance all against it at once
//	clear         the wanted travel with the same against it
//	        not   (any grade) wear, heat, lengths that a list states wrongly
//	likelihood    scatter within a side, tape, assumed stacks, gaps, motion ratio (one error for
//	              length and needs) and the damper's own lengths, as independent normal errors;
//	              the side where it is less
//	        not   (of the least travel alone) whether the least is enough
//	ride position the mean of the sides
//	stops         a chassis bump stop that comes late makes a fit marginal; stops by a
//	              constant ratio over 75 mm carry the caution
//	        not   how a stop's force grows; a stop on the rod that is touched at ride height
//	              is noted and doesn't change the grade
//	clearance     the body over its compressed length along a linkage's travel
//	        not   brackets, hoses, covers on the rod, and what isn't named as an obstacle
//	lean          as stated, by the tape, by a linkage over its travel: the largest known
//	        not   the lean of the vehicle itself on a slope or in a bend
//	hardware      bores, widths, bolts, threads and holes as far as they were given; what is
//	              missing is left open and said
//	        not   what the list and the request don't say; play that adds up over many sleeves
//	remedies      one change at a time; the needs, the bump stop and the droop limit after it;
//	              the grade that By makes of it
//	        not   whether the vehicle has room for it, and what else it moves
//	near misses   dampers that a single change within reach makes a fit
//	ruled out     the first reason, in the order of reasonNames
//	order         of all dampers of the catalogue: the search is exact, see search.go
//
// Valving, spring rates, clearance of parts that weren't named, and the state of the
// vehicle are not judged. The cautions say so with every answer.
//
// # How an answer comes about
//
// Find makes the working length (package measure), brings it to ride height and
// computes the needs. A task holds them. search finds the best fits and misses the
// near misses, both by branch and bound over the catalogue's trees of lengths;
// explain and judge look at every damper, or at those named. present and remedies
// work out in full what is listed.
package fit
