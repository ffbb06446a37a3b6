package catalog

import "errors"

// ErrNotFound says that no such catalogue or revision is held.
var ErrNotFound = errors.New("no such catalogue or revision")
