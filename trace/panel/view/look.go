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
	Name string `json:"name"` // what the eye makes of all columns
	Bad  string `json:"bad"`  // the colour of the wrong columns alone

	sent, all, wrong shade
}

// Look is what is seen, computed by sending test fields.
type Look struct {
	Picture string   `json:"picture"`
	Columns string   `json:"columns"` // which are wrong
	Fields  []Field  `json:"fields"`
	Stretch bool     `json:"stretched"` // the left half is drawn over the whole width
	Specks  bool     `json:"specks"`
	Words   []string `json:"words"`
	Notes   []string `json:"notes"`

	grey  ramp
	faint bool // no value is off by more than faintLimit
	seen  Seen
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
	k := Look{Picture: Stable, Columns: ColumnsOK, Specks: bad.noisy(0) || bad.noisy(1)}
	for c := range bad.taps { // specks are told apart from what stays
		for p := range bad.taps[c] {
			bad.taps[c][p].half = false
		}
	}
	de := bad.enable()
	k.Notes = bad.notes(faults, de)
	switch de {
	case syncDead:
		k.Picture, k.Specks = NoneSeen, false
	case syncWild:
		k.Picture, k.Specks = Unstable, false
	case syncGood:
		t := &trial{bad: bad, good: good}
		k.see(t, l)
		k.columns(t)
	}
	k.Words, k.seen = k.describe(), k.answers()
	return k, nil
}

// see sends full fields, and grey and each primary in 256 steps. Only grey is measured; the
// others tell looks apart. The measured columns are wrong ones when there are any.
func (k *Look) see(t *trial, l Link) {
	var fields [][2]uint32
	for _, f := range testFields() {
		fields = append(fields, t.flat(f.rgb))
	}
	var grey [2][]uint32
	for v := range uint32(256) {
		got := t.flat(v * 0x010101)
		grey[0], grey[1] = append(grey[0], got[0]), append(grey[1], got[1])
		for _, one := range []uint32{0x010000, 0x000100, 0x000001} {
			t.flat(v * one)
		}
	}
	switch {
	case t.off[0] && t.off[1]:
		k.Columns = ColumnsAll
	case t.off[0]:
		k.Columns = ColumnsOdd
	case t.off[1]:
		k.Columns = ColumnsEven
	}
	k.faint = k.Columns != ColumnsOK && !t.far
	k.grey = rampOf(grey[0], 1<<(l.Bits/3))
	if k.Columns == ColumnsEven {
		k.grey = rampOf(grey[1], 1<<(l.Bits/3))
	}
	for i, f := range testFields() {
		all := mix(fields[i][0], fields[i][1])
		wrong := all
		if k.second() {
			wrong = fields[i][map[string]int{ColumnsOdd: 0, ColumnsEven: 1}[k.Columns]]
		}
		k.Fields = append(k.Fields, Field{f.name, colourName(all), colourName(wrong), shadeOf(f.rgb), shadeOf(all), shadeOf(wrong)})
	}
}

// columns sends what differs from column to column, and from left to right.
func (k *Look) columns(t *trial) {
	if t.bad.link.Channels == 1 {
		return
	}
	var got [8]uint32
	t.bad.line(got[:], []uint32{colour, colour, colour, colour, 0, 0, 0, 0}, 0)
	k.Stretch = got[4] == got[0] && got[6] == got[0] && got[0] != 0
	// Neighbours of different colours tell faults that mix the channels.
	for _, px := range []uint32{0xFF0000, 0x00FF00, 0x0000FF, colour} {
		var two, ref [2]uint32
		t.bad.line(two[:], []uint32{px, 0}, 0)
		t.good.line(ref[:], []uint32{px, 0}, 0)
		if two != ref && k.Columns == ColumnsOK {
			k.Columns = ColumnsExchanged
		}
	}
}

// second reports whether every second column is wrong.
func (k Look) second() bool { return k.Columns == ColumnsOdd || k.Columns == ColumnsEven }

// right reports whether a field is seen as the colour that is sent.
func (f Field) right() bool { return f.wrong.from(f.sent) <= seenLimit }
