package store

import "time"

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
