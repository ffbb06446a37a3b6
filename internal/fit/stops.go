package fit

// stops says where the suspension's stops must act for a fit judged by a
// linkage.
func (k *kinematics) stops(f *Fit) *Stops { return nil }
