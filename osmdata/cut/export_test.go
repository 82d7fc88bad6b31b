package cut

// AtOnce holds so few records and bytes in memory at once.
func (o Options) AtOnce(n int) Options {
	o.atOnce = n
	return o
}
