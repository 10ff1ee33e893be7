package batches

import (
	"database/sql"
	"time"
)

func named(name string, value any) any { return sql.Named(name, value) }

// period binds the day looked from and a number of weeks up to it.
func period(last time.Time, weeks int) []any {
	return []any{named("last", last.Format(time.DateOnly)), named("weeks", weeks)}
}
