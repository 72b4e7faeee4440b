package mode

import "fmt"

// What the tests of this package see of it besides what is exported.
type (
	Blanking = blanking
	DMTMode  = dmtMode
)

const (
	Full     = full
	Reduced  = reduced
	Reduced2 = reduced2
)

var (
	CVT = cvt
	GTF = gtf
)

// DMT is the table, ids 01h to 58h in order.
func DMT() []DMTMode {
	var all []DMTMode
	for _, r := range dmtRows {
		all = append(all, r.mode())
	}
	return all
}

// Modeline writes a mode as X logs do. The vertical numbers count the lines of a whole
// frame, also when interlaced.
func Modeline(m Mode) string {
	v, odd, flag := m.V, 0, ""
	if m.Interlaced {
		v, odd, flag = Axis{2 * v.Active, 2 * v.Front, 2 * v.Sync, 2 * v.Back}, 1, " interlace"
	}
	edges := func(a Axis, more int) string {
		return fmt.Sprintf("%d %d %d %d", a.Active, a.Active+a.Front, a.Active+a.Front+a.Sync, a.Total()+more)
	}
	return fmt.Sprintf("Modeline \"%dx%d\" %s %s %s %shsync %svsync%s", m.H.Active, v.Active,
		megahertz(m.Clock), edges(m.H, 0), edges(v, odd), sign(m.HPos), sign(m.VPos), flag)
}
