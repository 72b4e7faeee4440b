package view

// The values of Look.Picture.
const (
	Stable   = "stable"
	NoneSeen = "none"
	Unstable = "rolls"
)

// The values of Look.Columns.
const (
	ColumnsOK        = "ok"
	ColumnsAll       = "all"
	ColumnsOdd       = "odd"
	ColumnsEven      = "even"
	ColumnsExchanged = "exchanged"
)

// Field is what a full field of one colour looks like.
type Field struct {
	Show string `json:"show"` // the colour that is sent
	Odd  uint32 `json:"odd"`  // red<<16 | green<<8 | blue of columns 1, 3, 5...
	Even uint32 `json:"even"`
	Name string `json:"name"` // what the eye makes of both
	Bad  string `json:"bad"`  // the colour of the wrong columns alone
}

// Look is what is seen, computed by sending test fields.
type Look struct {
	Picture string   `json:"picture"`
	Columns string   `json:"columns"` // which are wrong
	Fields  []Field  `json:"fields"`
	Colours [3]Curve `json:"colours"` // red, green, blue in the wrong columns
	Steps   int      `json:"grey_steps"`
	Of      int      `json:"grey_steps_healthy"`
	Tinted  bool     `json:"grey_tinted"`
	Stretch bool     `json:"stretched"` // the left half is drawn over the whole width
	Faint   bool     `json:"faint"`     // no value is off by more than faintLimit
	Specks  bool     `json:"specks"`
	Words   []string `json:"words"`
	Notes   []string `json:"notes"`

	exact string // all outputs, to tell equal looks
}

// test is a full field that is sent.
type test struct {
	name string
	rgb  uint32
}

// testFields are the fields that are sent, in this order.
func testFields() []test {
	return []test{
		{"white", 0xFFFFFF}, {"black", 0}, {"red", 0xFF0000}, {"green", 0x00FF00},
		{"blue", 0x0000FF}, {"yellow", 0xFFFF00}, {"cyan", 0x00FFFF}, {"magenta", 0xFF00FF}, {"grey", 0x808080},
	}
}

// trial sends test lines over a faulty and a healthy wire.
type trial struct {
	bad, good *wire
	exact     []byte
	off       [2]bool // odd, even columns differ from healthy in a flat field
	far       bool    // by more than faintLimit
}

// faintLimit is how far a value of 255 may be off before a person sees it in a
// plain area. Invented.
const faintLimit = 5

// flat sends two columns of one colour.
func (t *trial) flat(px uint32) [2]uint32 {
	var got, want [2]uint32
	in := []uint32{px, px}
	t.bad.line(got[:], in, 0)
	t.good.line(want[:], in, 0)
	for c := range got {
		t.exact = append(t.exact, byte(got[c]>>16), byte(got[c]>>8), byte(got[c]))
		t.off[c] = t.off[c] || got[c] != want[c]
		for _, s := range []int{16, 8, 0} {
			d := int(got[c]>>s&255) - int(want[c]>>s&255)
			t.far = t.far || max(d, -d) > faintLimit
		}
	}
	return got
}

// Describe tells what a link with faults looks like.
func Describe(l Link, faults []Fault) (Look, error) {
	bad, err := newWire(l, faults)
	if err != nil {
		return Look{}, err
	}
	good, err := newWire(l, nil)
	if err != nil {
		return Look{}, err
	}
	noise := bad.noisy()
	for c := range bad.taps { // specks are told apart from what stays
		for p := range bad.taps[c] {
			bad.taps[c][p].half = false
		}
	}
	de := bad.enable()
	k := Look{Picture: Stable, Columns: ColumnsOK, Notes: bad.notes(faults, de), Of: 1 << (l.Bits / 3)}
	switch de {
	case syncDead:
		k.Picture = NoneSeen
	case syncWild:
		k.Picture = Unstable
	case syncGood:
		t := &trial{bad: bad, good: good}
		k.fields(t)
		k.ramps(t)
		k.columns(t)
		k.names()
		k.Specks = noise[0] || noise[1]
		if k.Specks {
			t.exact = append(t.exact, '*', flag(noise[0]), flag(noise[1]))
		}
		k.exact = string(t.exact)
	}
	k.exact = k.Picture + k.exact
	k.Words = k.describe()
	return k, nil
}

func flag(b bool) byte {
	if b {
		return '1'
	}
	return '0'
}

func (k *Look) fields(t *trial) {
	for _, f := range testFields() {
		got := t.flat(f.rgb)
		k.Fields = append(k.Fields, Field{Show: f.name, Odd: got[0], Even: got[1]})
	}
}

// names the colours, which needs to know the wrong columns.
func (k *Look) names() {
	for i, f := range k.Fields {
		bad, all := k.wrong(f)
		k.Fields[i].Bad, k.Fields[i].Name = colourName(bad), colourName(all)
	}
}

// tintLimit is how far the colours of a grey may be apart, of 255, before a person
// sees a tint. Invented.
const tintLimit = 28

// ramps sends grey and each primary in 256 steps. Only grey is measured; the
// others tell looks apart.
func (k *Look) ramps(t *trial) {
	var grey [2][256]uint32
	for v := range uint32(256) {
		got := t.flat(v * 0x010101)
		grey[0][v], grey[1][v] = got[0], got[1]
		for _, one := range []uint32{0x010000, 0x000100, 0x000001} {
			t.flat(v * one)
		}
	}
	c := 0 // the columns that are measured: wrong ones when there are any
	if !t.off[0] && t.off[1] {
		c = 1
	}
	seen := map[uint32]bool{}
	for _, px := range grey[c] {
		seen[px] = true
		r, g, b := parts(px)
		k.Tinted = k.Tinted || max(r, g, b)-min(r, g, b) > tintLimit
	}
	k.Steps = len(seen)
	for i, shift := range []int{16, 8, 0} {
		k.Colours[i] = curveOf(grey[c][:], shift)
	}
}

// columns sends what differs from column to column, and from left to right.
func (k *Look) columns(t *trial) {
	switch {
	case t.off[0] && t.off[1]:
		k.Columns = ColumnsAll
	case t.off[0]:
		k.Columns = ColumnsOdd
	case t.off[1]:
		k.Columns = ColumnsEven
	}
	k.Faint = k.Columns != ColumnsOK && !t.far
	if t.bad.link.Channels == 1 {
		return
	}
	var got [8]uint32
	t.bad.line(got[:], []uint32{0xFFFFFF, 0xFFFFFF, 0xFFFFFF, 0xFFFFFF, 0, 0, 0, 0}, 0)
	k.Stretch = got[4] == got[0] && got[6] == got[0] && got[0] != 0
	t.bad.line(got[:], []uint32{0xFFFFFF, 0, 0xFFFFFF, 0, 0xFFFFFF, 0, 0xFFFFFF, 0}, 0)
	if k.Columns == ColumnsOK && got[0] == 0 {
		k.Columns = ColumnsExchanged
	}
	// One more line for faults that mix bits of both channels.
	for _, px := range []uint32{0xFF0000, 0x00FF00, 0x0000FF, 0xFFFFFF} {
		var two [2]uint32
		t.bad.line(two[:], []uint32{px, 0}, 0)
		for _, v := range two {
			t.exact = append(t.exact, byte(v>>16), byte(v>>8), byte(v))
		}
		var ref [2]uint32
		t.good.line(ref[:], []uint32{px, 0}, 0)
		if two != ref && k.Columns == ColumnsOK {
			k.Columns = ColumnsExchanged
		}
	}
	t.exact = append(t.exact, k.Columns...)
	t.exact = append(t.exact, flag(k.Stretch))
}

// wrong is the colour of the wrong columns, and what the eye makes of all.
func (k Look) wrong(f Field) (wrong, all uint32) {
	all = mix(f.Odd, f.Even)
	switch k.Columns {
	case ColumnsOdd:
		return f.Odd, all
	case ColumnsEven:
		return f.Even, all
	}
	return all, all
}
