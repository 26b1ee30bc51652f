package solid

// station is the body's section at a place of the edge.
func (t Tool) station(along float64) (station, error) {
	b, err := newBody(t)
	if err != nil {
		return station{}, err
	}
	return b.station(along)
}
