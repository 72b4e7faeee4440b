package suspects

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// Reading is what a person read or saw, with the state of the board.
type Reading struct {
	Text  string // as typed
	Probe predict.Probe
	// Value is a number that a meter showed, in V or Ω; +Inf for more than it shows.
	// Where Seen is set, it counts instead.
	Value float64
	Seen  *netlist.Observation
}

// ErrReading is wrapped by every error of Parse.
var ErrReading = errors.New("not a reading")

// readingError says what is wrong with a reading as typed.
type readingError struct{ text, msg, want string }

func (e *readingError) Error() string {
	s := fmt.Sprintf("%s: %s", e.text, e.msg)
	if e.want != "" {
		s += "\n  " + e.want
	}
	return s
}

func (e *readingError) Is(target error) bool { return target == ErrReading }

const readingForms = "a reading is POINT=VALUE: VBL=12.2V, VBL=ohms:40k, VBL=diode:0.62, F3=0.1ohm, A0P_J/A0N_J=100ohm, A.0=quiet, EDID=unread; with @lid=shut,panel=out behind it for another state of the board"

// Parse reads a reading such as VBL=12.2V, VBL=diode:OL, F3=80mohm,
// A0P_J/A0N_J=100ohm, EDID=unread or BL_EN=0V@lid=shut. A point is a net, a test
// point, a lane, a fact, a part (from end to end), PART.CHANNEL, or two nets with
// a stroke between.
func Parse(m *predict.Model, text string) (Reading, error) {
	fail := func(msg, want string) (Reading, error) { return Reading{}, &readingError{text, msg, want} }
	b := m.Board
	body, where, _ := strings.Cut(text, "@")
	point, value, ok := strings.Cut(body, "=")
	if !ok || point == "" || value == "" {
		return fail("there is no value", readingForms)
	}
	r := Reading{Text: text, Probe: predict.Probe{Net: netlist.None, Other: netlist.None, Part: netlist.None, Fact: netlist.None, State: predict.State{Setting: b.Usual()}}}
	if where != "" {
		for _, s := range strings.Split(where, ",") {
			switch s {
			case "panel=out":
				r.Probe.State.Unplugged = true
			case "panel=in":
				r.Probe.State.Unplugged = false
			default:
				if err := b.ParseSetting(r.Probe.State.Setting, s); err != nil {
					return fail(err.Error(), "")
				}
			}
		}
	}
	if err := r.place(m, point); err != nil {
		return fail(err.Error(), "")
	}
	method, number, prefixed := strings.Cut(value, ":")
	if !prefixed {
		number = value
	}
	between := r.Probe.Part != netlist.None || r.Probe.Other != netlist.None
	switch {
	case prefixed && method == "diode" && !between:
		return r, r.number(predict.Diode, number, netlist.Volt)
	case prefixed && method == "ohms", between, isOhms(value):
		how := predict.Ohms
		if between {
			how = predict.Across
		}
		if r.Probe.Net == netlist.None && !between {
			return fail("it has no resistance", readingForms)
		}
		return r, r.number(how, number, netlist.Ohm)
	case prefixed && method != "volts":
		return fail(fmt.Sprintf("%q is no method", method), "one of volts, ohms, diode")
	}
	if v, err := netlist.ParseValue(number, netlist.Volt); err == nil && r.Probe.Net != netlist.None {
		r.Probe.Method, r.Value = predict.Volts, v
		return r, nil
	}
	o, err := b.Observe(r.name(b, point), number, r.Probe.State.Setting)
	if err != nil {
		return fail(err.Error(), "")
	}
	r.Seen = &o
	r.Probe.Method = predict.Look
	if r.Probe.Net != netlist.None {
		r.Probe.Method = predict.Volts
	}
	return r, nil
}

// isOhms tells whether a value is written as a resistance.
func isOhms(s string) bool {
	return s == "OL" || strings.HasSuffix(s, "Ω") || strings.HasSuffix(strings.ToLower(s), "ohm") || strings.HasSuffix(strings.ToLower(s), "ohms")
}

// place finds what a point is.
func (r *Reading) place(m *predict.Model, point string) error {
	b := m.Board
	if a, z, ok := strings.Cut(point, "/"); ok {
		x, okx := b.Net(a)
		y, oky := b.Net(z)
		if !okx || !oky {
			name := a
			if okx {
				name = z
			}
			return nameError(b, name)
		}
		r.Probe.Net, r.Probe.Other = x, y
		return nil
	}
	if t, ok := b.Lookup(point); ok {
		r.Probe.Net, r.Probe.Fact = t.Net, t.Fact
		return nil
	}
	name, channel, named := strings.Cut(point, ".")
	id, ok := b.Part(name)
	if !ok {
		return nameError(b, point)
	}
	p := &b.Parts[id]
	if p.Kind.Form == netlist.SingleForm {
		r.Probe.Net = p.Conns[0].Net
		return nil
	}
	channels := m.Channels(id)
	if len(channels) == 0 {
		return fmt.Errorf("%s has no two ends to read across; name its nets", name)
	}
	k := 0
	if named {
		if k = slices.Index(channels, channel); k < 0 {
			return fmt.Errorf("%s has no channel %q; it has %s", name, channel, strings.Join(channels, ", "))
		}
	} else if len(channels) > 1 {
		return fmt.Errorf("%s has several channels; say which: %s.%s", name, name, strings.Join(channels, ", "+name+"."))
	}
	r.Probe.Part, r.Probe.Channel = id, k
	return nil
}

func nameError(b *netlist.Board, name string) error {
	msg := fmt.Sprintf("nothing on the board is called %q", name)
	if near := netlist.Nearest(name, slices.Concat(b.NetNames(), b.LaneNames(), b.FactNames(), b.PartNames())); near != "" {
		msg += fmt.Sprintf("; did you mean %q?", near)
	}
	return errors.New(msg)
}

// number fills in a number of a method; OL is more than the meter shows.
func (r *Reading) number(how predict.Method, text string, u netlist.Unit) error {
	r.Probe.Method = how
	if strings.EqualFold(text, "OL") {
		r.Value = math.Inf(1)
		return nil
	}
	v, err := netlist.ParseValue(text, u)
	if err != nil {
		return &readingError{r.Text, err.Error(), readingForms}
	}
	if v < 0 {
		return &readingError{r.Text, "a meter does not show less than nothing here", "exchange the leads"}
	}
	r.Value = v
	return nil
}

// name returns what Observe knows the point by.
func (r *Reading) name(b *netlist.Board, point string) string {
	if r.Probe.Net != netlist.None {
		return b.Nets[r.Probe.Net].Name
	}
	return point
}
