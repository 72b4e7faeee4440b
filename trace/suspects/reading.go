package suspects

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/predict"
)

// Reading is what a person read or saw, with the state of the board.
type Reading struct {
	Text  string // as typed
	Probe netlist.Probe
	// Value is a number that a meter showed, in V or Ω; +Inf for more than it shows.
	// Where Seen is set, it counts instead.
	Value float64
	Seen  *netlist.Observation
}

// ErrReading is wrapped by every error of Parse.
var ErrReading = errors.New("not a reading")

// ReadingError says what is wrong with a reading as typed.
type ReadingError struct {
	Text        string
	From, Width int // the letters in question
	Msg         string
	Want, Near  string // what was expected and the nearest right word, may be empty
}

// Error returns the message with what was expected.
func (e *ReadingError) Error() string {
	s := fmt.Sprintf("%s: %s", e.Text, e.Msg)
	if e.Near != "" {
		s += fmt.Sprintf("; did you mean %q?", e.Near)
	}
	if e.Want != "" {
		s += "\n  expected " + e.Want
	}
	return s
}

// Is makes errors.Is(err, ErrReading) work.
func (e *ReadingError) Is(target error) bool { return target == ErrReading }

const (
	readingForms = "POINT=VALUE, such as VBL=12.2V, VBL=ohms:40k, VBL=diode:0.62, F3=0.1ohm, EDID=unread, or VBL=0V@lid=shut"
	methodForms  = "one of volts, swing, ohms, diode"
)

// parser reads one reading and remembers where in it things stand.
type parser struct {
	m *predict.Simulator
	r Reading
}

// Parse reads a reading such as VBL=12.2V, VBL=swing:0.3V, VBL=diode:OL,
// F3=80mohm, A0P_J/A0N_J=100ohm, EDID=unread or BL_EN=0V@lid=shut. A point is a
// net, a test point, a lane, a fact, a part (from end to end), PART.CHANNEL, or
// two nets with a stroke between. Volts and looking are taken in the usual state
// with the panel plugged, ohms and diode mode with the panel unplugged, unless
// the reading says otherwise. The error is a *ReadingError.
func Parse(m *predict.Simulator, text string) (Reading, error) {
	return ParseIn(m, m.Board.Usual(), text)
}

// ParseIn is Parse for a board that is not in its usual state.
func ParseIn(m *predict.Simulator, usual netlist.Setting, text string) (Reading, error) {
	p := parser{m, Reading{Text: text, Probe: netlist.Probe{Net: netlist.None, Other: netlist.None, Part: netlist.None, Fact: netlist.None, State: netlist.Condition{Setting: slices.Clone(usual)}}}}
	if err := p.parse(); err != nil {
		return Reading{}, err
	}
	return p.r, nil
}

// fail reports what is wrong from a byte of the reading on.
func (p *parser) fail(from, width int, msg, want, near string) error {
	t := p.r.Text
	return &ReadingError{t, utf8.RuneCountInString(t[:from]), max(1, utf8.RuneCountInString(t[from:from+width])), msg, want, near}
}

func (p *parser) parse() error {
	body, where, hasState := strings.Cut(p.r.Text, "@")
	point, value, ok := strings.Cut(body, "=")
	switch {
	case !ok:
		return p.fail(0, len(body), "there is no value", readingForms, "")
	case point == "":
		return p.fail(0, 0, "there is no point before the equals sign", readingForms, "")
	case value == "":
		return p.fail(len(point), 1, "there is no value behind the equals sign", readingForms, "")
	}
	plugged := 0 // -1 out, 1 in
	if hasState {
		if err := p.states(len(body)+1, where, &plugged); err != nil {
			return err
		}
	}
	if err := p.place(point); err != nil {
		return err
	}
	if err := p.value(point, len(point)+1, value); err != nil {
		return err
	}
	if n := p.r.Probe.Net; n != netlist.None && !p.r.Probe.Cold() {
		if err := p.m.Board.IdleError(n); err != nil {
			return p.observe(0, len(point), len(point)+1, len(value), err)
		}
	}
	if hasState && p.r.Probe.Cold() {
		at := len(body) + 1
		for _, s := range strings.Split(where, ",") {
			if !strings.HasPrefix(s, "panel=") {
				return p.fail(at, len(s), "ohms and diode mode are read with all power out, where the board has no state", "@panel=in, @panel=out or nothing", "")
			}
			at += len(s) + 1
		}
	}
	// With all power out the panel is unplugged, as in the checklist.
	p.r.Probe.State.Unplugged = plugged < 0 || plugged == 0 && p.r.Probe.Cold()
	return nil
}

func (p *parser) states(at int, where string, plugged *int) error {
	for _, s := range strings.Split(where, ",") {
		switch s {
		case "panel=out":
			*plugged = -1
		case "panel=in":
			*plugged = 1
		default:
			if err := p.m.Board.ParseSetting(p.r.Probe.State.Setting, s); err != nil {
				return p.observe(at, len(s), at, len(s), err)
			}
		}
		at += len(s) + 1
	}
	return nil
}

// observe turns an error of netlist into one of a reading.
func (p *parser) observe(name, nameWidth, value, valueWidth int, err error) error {
	var oe *netlist.ObserveError
	if !errors.As(err, &oe) {
		return p.fail(name, nameWidth, err.Error(), "", "")
	}
	if oe.InValue {
		name, nameWidth = value, valueWidth
	}
	return p.fail(name, nameWidth, oe.Msg, oe.Want, oe.Near)
}

// value reads what stands behind the equals sign.
func (p *parser) value(point string, at int, value string) error {
	r, b := &p.r, p.m.Board
	method, number, prefixed := strings.Cut(value, ":")
	if !prefixed {
		number = value
	} else {
		at += len(method) + 1
	}
	between := r.Probe.Part != netlist.None || r.Probe.Other != netlist.None
	hasNet := r.Probe.Net != netlist.None
	switch {
	case between && prefixed && method != "ohms":
		return p.fail(at-len(method)-1, len(method), "between two ends only ohms are read", "as in F3=0.1ohm or F3=ohms:OL", "")
	case prefixed && !slices.Contains([]string{"volts", "swing", "ohms", "diode"}, method):
		return p.fail(at-len(method)-1, len(method), fmt.Sprintf("%q is no method", method), methodForms, mistake.Nearest(method, []string{"volts", "swing", "ohms", "diode"}))
	case prefixed && !hasNet && !between:
		return p.fail(0, len(point), "no meter reads a lane or a fact", point+"=ok or "+point+"=wrong", "")
	case between:
		return p.number(netlist.Across, at, number, netlist.Ohm)
	case method == "diode" && prefixed:
		return p.number(netlist.Diode, at, number, netlist.Volt)
	case method == "swing" && prefixed:
		return p.number(netlist.Activity, at, number, netlist.Volt)
	case prefixed && method == "ohms", hasNet && isOhms(value):
		return p.number(netlist.Ohms, at, number, netlist.Ohm)
	}
	if hasNet {
		if v, err := netlist.ParseValue(number, netlist.Volt); err == nil && v > mostVolts {
			return p.tooHigh(at, number)
		} else if err == nil {
			r.Probe.Method, r.Value = netlist.Volts, v
			return nil
		} else if prefixed {
			return p.fail(at, len(number), err.Error(), "a voltage such as 12.2V", "")
		}
		point = b.Nets[r.Probe.Net].Name
		if plain := strings.NewReplacer(",", ".", " ", "").Replace(number); plain != number && isNumber(plain) {
			return p.fail(at, len(number), "a number is written with a point, and without blanks", "", plain)
		}
	}
	o, err := b.Observe(point, number, r.Probe.State.Setting)
	if err != nil {
		return p.observe(0, at-1, at, len(number), err)
	}
	r.Seen = &o
	r.Probe.Method = netlist.Look
	switch {
	case hasNet && slices.Contains([]string{"quiet", "toggling", "alive"}, strings.ToLower(number)):
		r.Probe.Method = netlist.Activity
	case hasNet:
		r.Probe.Method = netlist.Volts
	}
	return nil
}

// isNumber tells whether a text is a voltage or a resistance.
func isNumber(s string) bool {
	_, volts := netlist.ParseValue(s, netlist.Volt)
	_, ohms := netlist.ParseValue(s, netlist.Ohm)
	return volts == nil || ohms == nil
}

// isOhms tells whether a value is written as a resistance.
func isOhms(s string) bool {
	low := strings.ToLower(s)
	return low == "ol" || strings.HasSuffix(s, "Ω") || strings.HasSuffix(s, "Ω") || strings.HasSuffix(low, "ohm") || strings.HasSuffix(low, "ohms")
}

// place finds what a point is.
func (p *parser) place(point string) error {
	b, r := p.m.Board, &p.r
	if a, z, ok := strings.Cut(point, "/"); ok {
		x, err := p.net(0, a)
		if err != nil {
			return err
		}
		y, err := p.net(len(a)+1, z)
		if err != nil {
			return err
		}
		if x == y {
			return p.fail(0, len(point), "that is one net twice", "two nets, as in A0P_J/A0N_J=100ohm", "")
		}
		r.Probe.Net, r.Probe.Other = x, y
		return nil
	}
	if t, ok := b.Lookup(point); ok {
		if t.Net != netlist.None && b.Nets[t.Net].Ground {
			return p.fail(0, len(point), point+" is ground, the point that readings are taken against", "", "")
		}
		r.Probe.Net, r.Probe.Fact = t.Net, t.Fact
		return nil
	}
	name, channel, named := strings.Cut(point, ".")
	id, ok := b.Part(name)
	if !ok {
		return p.unknown(0, point)
	}
	part := &b.Parts[id]
	if part.Kind.Form == netlist.SingleForm && !named {
		r.Probe.Net = part.Conns[0].Net
		return nil
	}
	channels := p.m.Board.Channels(id)
	if len(channels) == 0 {
		return p.fail(0, len(name), name+" has no two ends to read across", "one of its nets", "")
	}
	k := 0
	switch {
	case named:
		var several []string
		if k, several = b.Channel(id, channel); len(several) > 0 {
			return p.fail(len(name)+1, len(channel), fmt.Sprintf("%s is on %d channels of %s", channel, len(several), name), channelForms(name, several), "")
		}
		if k < 0 {
			return p.fail(len(name)+1, len(channel), fmt.Sprintf("%s has no channel %q", name, channel), channelForms(name, channels), mistake.Nearest(channel, channels))
		}
	case len(channels) > 1:
		return p.fail(0, len(name), name+" has several channels", channelForms(name, channels), "")
	}
	r.Probe.Part, r.Probe.Channel = id, k
	return nil
}

func channelForms(name string, channels []string) string {
	if len(channels) == 1 {
		return name + " alone"
	}
	return "one of " + name + "." + strings.Join(channels, ", "+name+".")
}

// net finds a net or the net of a test point.
func (p *parser) net(at int, name string) (netlist.NetID, error) {
	if n, ok := p.m.Board.Net(name); ok {
		return n, nil
	}
	if id, ok := p.m.Board.Part(name); ok && p.m.Board.Parts[id].Kind.Form == netlist.SingleForm {
		return p.m.Board.Parts[id].Conns[0].Net, nil
	}
	return netlist.None, p.unknown(at, name)
}

func (p *parser) unknown(at int, name string) error {
	b := p.m.Board
	near := mistake.Nearest(name, slices.Concat(b.NetNames(), b.LaneNames(), b.FactNames(), b.PartNames()))
	return p.fail(at, len(name), fmt.Sprintf("nothing on the board is called %q", name), "", near)
}

// mostVolts is more than any point of a laptop's board stands at, in V: common
// practice, no source.
const mostVolts = 10e3

func (p *parser) tooHigh(at int, text string) error {
	return p.fail(at, len(text), "no point of such a board stands that high", "a voltage such as 12.2V", "")
}

// number fills in a number of a method; OL is more than the meter shows.
func (p *parser) number(how netlist.Method, at int, text string, u netlist.Unit) error {
	p.r.Probe.Method = how
	low := strings.ToLower(text)
	switch {
	case how != netlist.Activity && (low == "ol" || low == "open"):
		p.r.Value = math.Inf(1)
		return nil
	case u == netlist.Ohm && strings.HasSuffix(low, "ohms"):
		text = text[:len(text)-1]
	}
	v, err := netlist.ParseValue(text, u)
	switch {
	case u == netlist.Volt && v > mostVolts:
		return p.tooHigh(at, text)
	case err != nil:
		return p.fail(at, len(text), err.Error(), "a number such as "+map[netlist.Unit]string{netlist.Ohm: "40k or OL", netlist.Volt: "0.62V"}[u], "")
	case v < 0:
		return p.fail(at, len(text), "a meter does not show less than nothing here", "the leads exchanged", "")
	}
	p.r.Value = v
	return nil
}

// Say writes a reading of a probe so that Parse reads it back; a value is as
// predict.Run.Value has it.
func Say(m *predict.Simulator, p netlist.Probe, value float64) string {
	return sayPoint(m, p) + "=" + sayMethod(p.Method) + sayValue(p.Method, value) + sayState(m, p)
}

func sayPoint(m *predict.Simulator, p netlist.Probe) string {
	if p.Part == netlist.None && p.Other != netlist.None {
		return m.Board.Nets[p.Net].Name + "/" + m.Board.Nets[p.Other].Name
	}
	return m.At(p)
}

func sayMethod(how netlist.Method) string {
	switch how {
	case netlist.Ohms:
		return "ohms:"
	case netlist.Diode:
		return "diode:"
	case netlist.Activity:
		return "swing:"
	case netlist.Volts, netlist.Look, netlist.Across:
	}
	return ""
}

func sayValue(how netlist.Method, v float64) string {
	switch {
	case how == netlist.Look && v != 0:
		return "yes"
	case how == netlist.Look:
		return "no"
	case math.IsInf(v, 1) && how == netlist.Volts:
		return predict.Floating
	case math.IsInf(v, 1):
		return "OL"
	case how == netlist.Ohms || how == netlist.Across:
		return strings.ReplaceAll(strings.ReplaceAll(netlist.FormatValue(v, netlist.Ohm), " ", ""), "Ω", "ohm")
	}
	return strings.ReplaceAll(netlist.FormatValue(v, netlist.Volt), " ", "")
}

// sayState is empty where Parse takes the state by itself.
func sayState(m *predict.Simulator, p netlist.Probe) string {
	var words []string
	if p.Cold() {
		if !p.State.Unplugged {
			words = append(words, "panel=in")
		}
	} else {
		for i, v := range p.State.Setting {
			if v != 0 {
				words = append(words, m.Board.States[i].Name+"="+m.Board.States[i].Values[v])
			}
		}
		if p.State.Unplugged {
			words = append(words, "panel=out")
		}
	}
	if len(words) == 0 {
		return ""
	}
	return "@" + strings.Join(words, ",")
}
