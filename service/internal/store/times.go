package store

import (
	"math"
	"time"
)

// Micros is a filter's time as it is stored.
func Micros(value any) (int64, error) {
	t, ok := value.(time.Time)
	if !ok {
		return 0, Errorf(BadQuery, "a time column compares with a time, not with %v", value)
	}
	return t.UnixMicro(), nil
}

// FromMicros is a stored time.
func FromMicros(us int64) time.Time { return time.UnixMicro(us).UTC() }

// never is due after every time.
const never = math.MaxInt64

// DueMicros is as it is stored when something is due.
func DueMicros(t time.Time) int64 {
	if t.IsZero() {
		return never
	}
	return t.UnixMicro()
}

// DueFrom is when something is due by what is stored.
func DueFrom(us int64) time.Time {
	if us == never {
		return time.Time{}
	}
	return FromMicros(us)
}
