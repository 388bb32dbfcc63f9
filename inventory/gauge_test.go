package inventory

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A set is good on its last day, all of it, and not on the next, also where a day has
// 23 or 25 hours.
func TestOutOfDateByTheCalendar(t *testing.T) {
	here := time.Local
	t.Cleanup(func() { time.Local = here })
	for _, zone := range []string{"Europe/Berlin", "America/St_Johns", "Pacific/Kiritimati", "UTC"} {
		place, err := time.LoadLocation(zone)
		require.NoError(t, err)
		time.Local = place
		for _, due := range []string{"2026-03-29", "2026-10-25", "2026-03-08", "2026-11-01", "2026-12-31"} { // the clock changes on four
			last, err := time.Parse(time.DateOnly, due)
			require.NoError(t, err)
			g := Gauge{Due: last}
			next := time.Date(last.Year(), last.Month(), last.Day()+1, 0, 0, 0, 0, place)
			assert.False(t, g.OutOfDate(next.Add(-time.Second).UTC()), "%s in %s, the last second", due, zone)
			assert.True(t, g.OutOfDate(next.UTC()), "%s in %s, midnight", due, zone)
		}
	}
	assert.False(t, Gauge{}.OutOfDate(time.Now()), "nobody knows when it is due")
}
