package photo

// Busy takes every turn, until free is called.
func Busy() (free func()) {
	for range cap(turns) {
		turns <- struct{}{}
	}
	return func() {
		for range cap(turns) {
			<-turns
		}
	}
}
