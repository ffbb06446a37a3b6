package contract

// WithoutShortcut gives a checker that leaves every body to the library.
func (c *Checker) WithoutShortcut() *Checker {
	slow := *c
	slow.shortcut = nil
	return &slow
}

// Shortens gives how many of the bodies in the document the shortcut knows.
func (c *Checker) Shortens() (bodies int) {
	for _, knows := range c.shortcut {
		if knows {
			bodies++
		}
	}
	return bodies
}
