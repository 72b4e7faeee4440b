package mode

// What the tests of this package see of it besides what is exported.
type Blanking = blanking

// DMTMode is a row of the table, computed.
type DMTMode struct {
	ID   byte
	Mode Mode
	Kind Blanking
}

const (
	Full     = full
	Reduced  = reduced
	Reduced2 = reduced2
)

var CVT = cvt

// DMT is the table.
func DMT() []DMTMode {
	var all []DMTMode
	for _, r := range dmtRows {
		all = append(all, DMTMode{r.id, r.mode(), r.kind})
	}
	return all
}
