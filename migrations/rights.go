package migrations

import (
	_ "embed"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgconn"
)

// The roles that the service works as. Step 8 says what each may do.
const (
	ServiceRole = "midstroke_service"
	KeeperRole  = "midstroke_keeper"
)

// Rights is what a superuser runs in a database, once, so that these roles can log
// in to it. It may be run before the first migration or at any later time.
//
//go:embed rights/logins.sql
var Rights string

// OwnerError says that a role may not change the tables, which their owner has to
// do.
type OwnerError struct {
	Role       string
	Have, Need int64 // numbers of steps; Have is -1 where the role may not see it
}

func (e *OwnerError) Error() string {
	switch e.Have {
	case -1:
		return fmt.Sprintf("the role %s has no rights in the database: run midstroke migrate as the role that owns the tables, and what midstroke rights prints as a superuser", e.Role)
	case 0:
		return fmt.Sprintf("the database has no tables yet, and the role %s may not make them: run midstroke migrate as the role that owns the database", e.Role)
	}
	return fmt.Sprintf("the database's tables are at step %d, this program needs step %d, and the role %s may not change them: run midstroke migrate as the role that owns them",
		e.Have, e.Need, e.Role)
}

// NewerError says that the tables were changed by a newer program.
type NewerError struct{ Have, Known int64 }

func (e *NewerError) Error() string {
	return fmt.Sprintf("the database's tables are at step %d, and this program knows steps up to %d: a newer program changed them, so use that one", e.Have, e.Known)
}

// denied says whether the server refused something for want of rights.
func denied(err error) bool {
	const insufficientPrivilege = "42501"
	var told *pgconn.PgError
	return errors.As(err, &told) && told.Code == insufficientPrivilege
}
