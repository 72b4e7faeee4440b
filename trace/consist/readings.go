package consist

// Readings is the System whose statements are "this reading is right". Its minimal
// conflicts are readings that cannot all be right; its minimal diagnoses are readings that
// must be wrong.
type Readings struct {
	N int
	// Explained tells whether some hypothesis accounts for all readings of the ascending
	// list together. What explains a set explains each part of it.
	Explained func(readings []int) bool
}

// Len is the number of readings.
func (r Readings) Len() int { return r.N }

// Consistent tells whether some hypothesis explains all readings except those given up.
func (r Readings) Consistent(without []int) bool { return r.Explained(rest(r.N, without)) }
