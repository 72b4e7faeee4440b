package netlist

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// Reading is what a person read or saw on a board, with the state of the board.
type Reading struct {
	Text  string // as typed
	Probe Probe
	// Value is a number that a meter showed, in V or Ω; +Inf for more than it shows.
	// Where Seen is set, that counts instead.
	Value float64
	Seen  *Observation // what was told in a word
	Or    []Reading    // others of which one may hold instead
	// History is what happened to the machine, in words of Histories, where the reading
	// stands for a symptom that says so.
	History []string
}

// ParseReading reads what was typed of one probe, such as VBL=12.2V, TP7=0V,
// VBL=swing:0.3V, VBL=diode:OL, F3=80mohm, A0P_J/A0N_J=100ohm, EDID=unread or
// BL_EN=0V@lid=shut; ReadingForms lists all forms. A point is a net, a test point, a
// lane, a fact, a part (from end to end), PART.CHANNEL, or two nets with a stroke
// between. Volts and looking are taken in the usual state with the panel plugged, ohms
// and diode mode with the panel unplugged, but for ohms across a contact of a connector,
// unless the reading says otherwise. The
// error is a mistake.Mistake.
func (b *Board) ParseReading(text string, usual Setting) (Reading, error) {
	if strings.Contains(text, or) {
		return b.parseOr(text, usual)
	}
	p := readingParser{b: b, r: Reading{Text: text, Probe: Probe{Net: None, Other: None, Part: None, Fact: None,
		State: Condition{Setting: slices.Clone(usual)}}}}
	if err := p.parse(); err != nil {
		return Reading{}, err
	}
	return p.r, nil
}

// ParsePoint reads the point of a reading alone: a net, a test point, a lane, a fact, a
// part, PART.CHANNEL, or two nets with a stroke between. The error is a mistake.Mistake.
func (b *Board) ParsePoint(text string) (Probe, error) {
	p := readingParser{b: b, r: Reading{Text: text, Probe: Probe{Net: None, Other: None, Part: None, Fact: None}}}
	err := p.place(piece{text, 0}.trim())
	return p.r.Probe, err
}

// Symptom returns the index of a symptom by its name, in any case where that leaves one,
// or -1.
func (b *Board) Symptom(name string) int { return FindName(b.SymptomNames(), name) }

// FindName returns the index of a name in a list as it is written, else in any case where
// that leaves one, or -1.
func FindName(list []string, name string) int {
	if i := slices.Index(list, name); i >= 0 {
		return i
	}
	found := -1
	for i, n := range list {
		switch {
		case !strings.EqualFold(n, name):
		case found >= 0:
			return -1
		default:
			found = i
		}
	}
	return found
}

// FindPart finds a part by its name, in any case where that leaves one.
func (b *Board) FindPart(name string) (PartID, bool) {
	if id, ok := b.partIndex[name]; ok {
		return id, true
	}
	id := PartID(FindName(b.PartNames(), name))
	return id, id >= 0
}

// FindNet finds a net by its name, in any case where that leaves one.
func (b *Board) FindNet(name string) (NetID, bool) {
	if id, ok := b.netIndex[name]; ok {
		return id, true
	}
	id := NetID(FindName(b.NetNames(), name))
	return id, id >= 0
}

// Readings reads a word of a command or a line of a file: a reading, or the name of
// a symptom of the board, which stands for its readings.
func (b *Board) Readings(text string, usual Setting) ([]Reading, error) {
	i := b.Symptom(text)
	if i < 0 {
		r, err := b.ParseReading(text, usual)
		return []Reading{r}, err
	}
	var list []Reading
	for _, seen := range b.Symptoms[i].Readings {
		r, err := b.ParseReading(seen.Text, usual)
		if err != nil {
			return nil, err
		}
		r.History = b.Symptoms[i].History
		list = append(list, r)
	}
	return list, nil
}

// ParseReadings reads a file of readings: a reading or the name of a symptom a line;
// # begins a comment.
func (b *Board) ParseReadings(name, text string, usual Setting) ([]Reading, []mistake.Mistake) {
	var list []Reading
	problems := ListLines(name, strings.TrimPrefix(text, "\uFEFF"), func(number int, line string) *mistake.Mistake {
		body, _, _ := strings.Cut(line, "#")
		word := strings.TrimSpace(body)
		if word == "" || len(list) > MaxReadings {
			return nil
		}
		found, err := b.Readings(word, usual)
		if err == nil {
			list = append(list, found...)
			return nil
		}
		m := mistake.In(err, name, number, line, word)
		m.Code = "reading"
		return &m
	})
	if len(list) > MaxReadings {
		problems = append(problems, *TooManyReadings(name))
	}
	return list, problems
}

// piece is a part of what was typed, and the byte at which it begins there.
type piece struct {
	text string
	at   int
}

// trim takes the blanks off both ends.
func (p piece) trim() piece {
	left := strings.TrimLeft(p.text, " \t")
	return piece{strings.TrimRight(left, " \t"), p.at + len(p.text) - len(left)}
}

// cut parts a piece at a sign; the halves have no blanks at their ends.
func (p piece) cut(sign string) (before, after piece, found bool) {
	a, z, found := strings.Cut(p.text, sign)
	if !found {
		return p, piece{"", p.at + len(p.text)}, false
	}
	return piece{a, p.at}.trim(), piece{z, p.at + len(a) + len(sign)}.trim(), found
}

// blank reports where the first blank inside a piece is.
func (p piece) blank() (piece, bool) {
	i := strings.IndexAny(p.text, " \t")
	return piece{" ", p.at + max(i, 0)}, i >= 0
}

// readingParser reads one reading and remembers where in it things stand.
type readingParser struct {
	b *Board
	r Reading
}

// fail reports what is wrong with a piece of the reading.
func (p *readingParser) fail(at piece, msg, want, near string) error {
	width := max(1, utf8.RuneCountInString(at.text))
	return mistake.Mistake{Text: p.r.Text, Column: utf8.RuneCountInString(p.r.Text[:at.at]) + 1, Width: width, Code: "observation", Msg: msg,
		Want: want, Near: near}
}

const pointForms = "POINT=VALUE, such as VBL=12.2V, VBL=ohms:40k, VBL=diode:0.62, F3=0.1ohm, EDID=unread, or VBL=0V@lid=shut"

func (p *readingParser) parse() error {
	all := piece{p.r.Text, 0}.trim()
	body, where, hasState := all.cut("@")
	point, value, ok := body.cut("=")
	equals := piece{"=", body.at + strings.Index(body.text, "=")}
	near, far, _ := point.cut("/")
	gap, more := near.blank()
	if !more {
		gap, more = far.blank()
	}
	switch {
	case all.text == "":
		return p.fail(all, "there is no reading", pointForms, "")
	case !ok:
		return p.noValue(body)
	case point.text == "":
		return p.fail(equals, "there is no point before the equals sign", pointForms, "")
	case more:
		return p.fail(gap, "one reading is taken at a time, and a name has no blank in it", "one reading, such as VBL=12.2V", "")
	case value.text == "":
		return p.fail(equals, "there is no value behind the equals sign", pointForms, "")
	case strings.ContainsAny(value.text, "=") && strings.ContainsAny(value.text, " \t"):
		gap, _ := value.blank()
		return p.fail(gap, "one reading is taken at a time", "one reading, such as VBL=12.2V", "")
	}
	plugged := 0 // -1 out, 1 in
	if hasState {
		if err := p.states(where, &plugged); err != nil {
			return err
		}
	}
	if err := p.place(point); err != nil {
		return err
	}
	if err := p.value(point, value); err != nil {
		return err
	}
	if n := p.r.Probe.Net; n != None && !p.r.Probe.Cold() {
		if w := p.b.idle(n); w != nil {
			return p.fail(point, w.msg, w.want, w.near)
		}
	}
	if hasState && p.r.Probe.Cold() {
		for s := range pieces(where) {
			if name, _, _ := s.cut("="); !strings.EqualFold(name.text, "panel") {
				return p.fail(s, "ohms and diode mode are read with all power out, where the board has no state", "@panel=in, @panel=out or nothing",
					"")
			}
		}
	}
	p.r.Probe.State.Unplugged = plugged < 0 || plugged == 0 && p.b.unplugs(p.r.Probe)
	return nil
}

// unplugs reports whether a probe is made with the panel unplugged where nothing else is
// said: with all power out, as in the checklist, but for a contact of a part that plugs,
// which conducts only when it is plugged.
func (b *Board) unplugs(p Probe) bool {
	return p.Cold() && (p.Part == None || !b.Parts[p.Part].Kind.Plugs)
}

// noValue explains a word without an equals sign: a name that was seen, or a symptom
// that the board does not have.
func (p *readingParser) noValue(word piece) error {
	names := p.b.SymptomNames()
	_, found, _ := p.find(word)
	switch {
	case found:
		return p.fail(word, word.text+" alone is no reading: say what is seen", word.text+"=wrong, "+word.text+"=ok or a value", "")
	case len(names) == 0:
		return p.fail(word, fmt.Sprintf("%q is no reading, and %s names no symptoms", word.text, p.b.Name), pointForms, "")
	}
	near := mistake.Nearest(word.text, names)
	if near == "" {
		near = mistake.Nearest(word.text, p.b.knownNames())
	}
	return p.fail(word, fmt.Sprintf("no symptom is called %q", word.text),
		"a reading such as VBL=0V or EDID=unread, or one of "+strings.Join(names, ", "), near)
}

// pieces yields what stands between commas.
func pieces(p piece) func(func(piece) bool) {
	return func(yield func(piece) bool) {
		for more := true; more; {
			var one piece
			if one, p, more = p.cut(","); !yield(one) {
				return
			}
		}
	}
}

// states reads what stands behind @; plugged becomes -1 for panel=out, 1 for panel=in.
func (p *readingParser) states(where piece, plugged *int) error {
	named := map[string]piece{}
	for s := range pieces(where) {
		name, value, ok := s.cut("=")
		panel := strings.EqualFold(name.text, "panel")
		if !ok && !panel {
			return p.fail(s, fmt.Sprintf("%q is not a state", s.text), "@STATE=VALUE, such as @lid=shut", "")
		}
		key, is := strings.ToLower(name.text), strings.ToLower(value.text)
		if first, twice := named[key]; twice && !strings.EqualFold(first.text, value.text) {
			return p.fail(s, fmt.Sprintf("%s=%s and %s cannot both be", name.text, first.text, s.text), "one value of each state", "")
		}
		named[key] = value
		switch {
		case panel && is == "out":
			*plugged = -1
		case panel && is == "in":
			*plugged = 1
		case panel:
			return p.fail(s, "the panel is plugged in or it is out", "@panel=in or @panel=out", "")
		default:
			if w := p.b.setState(p.r.Probe.State.Setting, name.text, value.text); w != nil {
				at := s
				if w.inValue {
					at = value
				}
				return p.fail(at, w.msg, w.want, w.near)
			}
		}
	}
	return nil
}

// place finds what a point is.
func (p *readingParser) place(point piece) error {
	r := &p.r.Probe
	if a, z, two := point.cut("/"); two {
		x, err := p.net(a)
		if err != nil {
			return err
		}
		y, err := p.net(z)
		if err != nil {
			return err
		}
		if x == y {
			return p.fail(point, "that is one net twice", "two nets, as in A0P_J/A0N_J=100ohm", "")
		}
		r.Net, r.Other = x, y
		return nil
	}
	at, ok, err := p.find(point)
	switch {
	case err != nil:
		return err
	case !ok:
		return p.channel(point)
	case at.part != None:
		return p.across(point, at.part, "")
	}
	if at.target.Net != None && p.b.Nets[at.target.Net].Ground {
		return p.fail(point, p.b.Nets[at.target.Net].Name+" is ground, the point that readings are taken against", "a net, a lane or a fact", "")
	}
	r.Net, r.Fact = at.target.Net, at.target.Fact
	if at.target.Lane != None {
		p.r.Seen = &Observation{Target: at.target}
	}
	return nil
}

// named is what a name stands for: a net, also by one of its test points, a lane, a
// fact, or a part.
type named struct {
	target Target
	part   PartID
}

// find looks for a name as it is written, else in any case where that leaves one.
func (p *readingParser) find(name piece) (named, bool, error) {
	if at, ok := p.b.exactly(name.text); ok {
		return at, true, nil
	}
	var found []string
	for _, list := range [][]string{p.b.NetNames(), p.b.LaneNames(), p.b.FactNames(), p.b.PartNames()} {
		for _, n := range list {
			if strings.EqualFold(n, name.text) {
				found = append(found, n)
			}
		}
	}
	switch len(found) {
	case 0:
		return named{}, false, nil
	case 1:
		at, _ := p.b.exactly(found[0])
		return at, true, nil
	}
	return named{}, false, p.fail(name, "several names differ only in capitals", "one of "+strings.Join(found, ", "), "")
}

// exactly looks for a name as it is written.
func (b *Board) exactly(name string) (named, bool) {
	if t, ok := b.Lookup(name); ok {
		return named{t, None}, true
	}
	id, ok := b.partIndex[name]
	if !ok {
		return named{}, false
	}
	if part := &b.Parts[id]; part.Kind.Form == SingleForm {
		return named{Target{part.Conns[0].Net, None, None}, None}, true
	}
	return named{Target{None, None, None}, id}, true
}

// channel reads PART.CHANNEL.
func (p *readingParser) channel(point piece) error {
	part, channel, ok := point.cut(".")
	if ok {
		at, found, err := p.find(part)
		if err != nil {
			return err
		}
		if found && at.part != None {
			return p.across(piece{p.r.Text[part.at : channel.at+len(channel.text)], part.at}, at.part, channel.text)
		}
	}
	return p.unknown(point)
}

// across takes a part from end to end; channel is empty where none is named.
func (p *readingParser) across(point piece, id PartID, channel string) error {
	name, channels := p.b.Parts[id].Name, p.b.Channels(id)
	if len(channels) == 0 {
		want, near := "one of its nets", ""
		if conns := p.b.Parts[id].Conns; len(conns) > 0 {
			near = p.b.Nets[conns[0].Net].Name
		}
		return p.fail(point, name+" is a part without two ends to read across", want, near)
	}
	k := slices.Index(channels, channel)
	var several []string
	if k < 0 && channel != "" {
		k, several = p.b.Channel(id, channel)
	}
	if k < 0 && len(several) == 0 {
		k = slices.IndexFunc(channels, func(c string) bool { return strings.EqualFold(c, channel) })
	}
	at := piece{channel, point.at + max(0, len(point.text)-len(channel))}
	switch {
	case len(several) > 0:
		return p.fail(at, fmt.Sprintf("%s is on %d channels of %s", channel, len(several), name), channelForms(name, several), "")
	case k < 0 && channel == "":
		return p.fail(point, name+" has several channels", channelForms(name, channels), "")
	case k < 0:
		return p.fail(at, fmt.Sprintf("%s has no channel %q", name, channel), channelForms(name, channels), mistake.Nearest(channel, channels))
	}
	p.r.Probe.Part, p.r.Probe.Channel = id, k
	return nil
}

func channelForms(name string, channels []string) string {
	if len(channels) == 1 {
		return name + " alone"
	}
	return "one of " + name + "." + strings.Join(channels, ", "+name+".")
}

// net finds a net or the net of a test point.
func (p *readingParser) net(name piece) (NetID, error) {
	at, ok, err := p.find(name)
	switch {
	case err != nil:
		return None, err
	case ok && at.target.Net != None:
		return at.target.Net, nil
	case ok:
		return None, p.fail(name, name.text+" is no net", "two nets, as in A0P_J/A0N_J=100ohm", "")
	}
	return None, p.unknown(name)
}

func (p *readingParser) unknown(name piece) error {
	b := p.b
	near := mistake.Nearest(name.text, slices.Concat(b.NetNames(), b.LaneNames(), b.FactNames(), b.PartNames()))
	return p.fail(name, fmt.Sprintf("nothing on the board is called %q", name.text), "a net, a test point, a lane, a fact or a part", near)
}
