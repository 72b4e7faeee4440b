package mode

import "fmt"

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

// Modeline writes a mode as X logs do.
func Modeline(m Mode) string {
	edges := func(a Axis) string {
		return fmt.Sprintf("%d %d %d %d", a.Active, a.Active+a.Front, a.Active+a.Front+a.Sync, a.Total())
	}
	return fmt.Sprintf("Modeline \"%dx%d\" %s %s %s %shsync %svsync", m.H.Active, m.V.Active,
		megahertz(m.Clock), edges(m.H), edges(m.V), sign(m.HPos), sign(m.VPos))
}
