package netlist

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// The methods that may stand before a value, and what each is.
var methodWords = map[string]Method{"volts": Volts, "swing": Activity, "ohms": Ohms, "diode": Diode}

var methodOrder = []string{"volts", "swing", "ohms", "diode"}

// Bounds, common practice, no source.
const (
	// mostVolts is more than any point of a laptop's board stands at, in V.
	mostVolts = 10e3
	// From here on "more than" is as good as OL: the end of the highest range of
	// common meters, in Ω and in V of diode mode.
	openOhms  = 20e6
	openDiode = 2.0
	// mostDiode is more than the diode mode of any common meter shows, in V: what reads
	// higher is power that is still in.
	mostDiode = 4.0
)

// value reads what stands behind the equals sign.
func (p *readingParser) value(point, value piece) error {
	r := &p.r.Probe
	method, number, prefixed := value.cut(":")
	word := strings.ToLower(method.text)
	between := r.Part != None || r.Other != None
	how, known := methodWords[word]
	switch {
	case !prefixed:
	case !known:
		return p.fail(method, fmt.Sprintf("%q is no method", method.text), "one of "+strings.Join(methodOrder, ", "),
			mistake.Nearest(word, methodOrder))
	case between && how != Ohms:
		return p.fail(method, "between two ends only ohms are read", "as in F3=0.1ohm or F3=ohms:OL", "")
	case between:
	case r.Net == None:
		return p.fail(method, "no meter reads a lane or a fact", point.text+"=ok or "+point.text+"=wrong", "")
	case number.text == "":
		return p.fail(value, "there is no value behind the method", pointForms, "")
	default:
		return p.number(how, number)
	}
	if prefixed && number.text == "" {
		return p.fail(value, "there is no value behind the method", pointForms, "")
	}
	if between {
		if !prefixed {
			number = value
		}
		return p.number(Across, number)
	}
	if r.Net == None {
		return p.words(value)
	}
	return p.netValue(value)
}

// netValue reads what is told of a net without a method: a number whose unit says
// how it was read, or a word.
func (p *readingParser) netValue(v piece) error {
	text := plainUnit(strings.TrimLeft(v.text, "<>~ \t"))
	_, volts := ParseValue(text, Volt)
	_, ohms := ParseValue(text, Ohm)
	_, word := meterWords[strings.ToLower(v.text)]
	switch {
	case word:
		return p.told(v)
	case isOpen(v.text) || isZeroL(v.text):
		return p.number(Ohms, v)
	case volts == nil && ohms == nil && strings.ContainsAny(text, "kKMG"):
		// No point of a laptop's board stands at kilovolts.
		return p.number(Ohms, v)
	case volts == nil && ohms == nil && strings.ContainsAny(text, "mµμunp"):
		return p.fail(v, fmt.Sprintf("%q can be volts or ohms", v.text), text+"V or "+text+"ohm", "")
	case volts == nil:
		return p.number(Volts, v)
	case ohms == nil:
		return p.number(Ohms, v)
	case strings.ContainsRune("0123456789.+-<>~", rune(v.text[0])):
		if looksLikeOhms(text) {
			return p.number(Ohms, v)
		}
		return p.number(Volts, v)
	}
	return p.words(v)
}

// looksLikeOhms reports whether a number that is not understood was meant for ohms.
func looksLikeOhms(text string) bool {
	low := strings.ToLower(text)
	return strings.HasSuffix(text, "Ω") || strings.HasSuffix(low, "ohm") || strings.HasSuffix(low, "k") || strings.HasSuffix(text, "M")
}

// isOpen reports whether a word says that the meter shows no number.
func isOpen(text string) bool {
	return slices.Contains([]string{"ol", "o.l", "o.l.", "open", "overload", "ovld", "∞"}, strings.ToLower(text))
}

// isZeroL reports whether a digit stands where the meter shows the letter O.
func isZeroL(text string) bool {
	return slices.Contains([]string{"0l", "0.l", "0.l."}, strings.ToLower(text))
}

// meterWords are words that are said of ohms and that no meter shows, each with what is
// offered instead.
var meterWords = map[string]string{"nan": "OL", "inf": "OL", "infinity": "OL", "infinite": "OL", "blown": "OL", "burnt": "OL",
	"short": "0ohm", "shorted": "0ohm"}

// told refuses a word where a meter shows a number.
func (p *readingParser) told(v piece) error {
	return p.fail(v, fmt.Sprintf("%q is no number that a meter shows", v.text),
		"OL where the meter shows no number, else the number, such as 0.1ohm",
		meterWords[strings.ToLower(v.text)])
}

// megs finds a number of ohms with the meg of meters, which is no m.
var megs = regexp.MustCompile(`^([-+]?[0-9.,]+)[ \t]*(?i:meg)[ \t]*((?i:ohms?)|[ΩΩ])?$`)

// apartUnit finds a number with a blank before its unit.
var apartUnit = regexp.MustCompile(`^([-+]?[0-9.,]+[pnuµμmkKMG]?)[ \t]+([pnuµμmkKMG]?(?i:v|ohms?|r)|[pnuµμmkKMG]?[ΩΩ]|[pnuµμmkKMG])$`)

// plainUnit writes a number with its unit as ParseValue takes them: no blank between
// them, and V and ohm in any case. The prefix keeps its case: m is milli, M is mega.
func plainUnit(text string) string {
	text = apartUnit.ReplaceAllString(megs.ReplaceAllString(text, "${1}M$2"), "$1$2")
	for _, unit := range []string{"ohms", "ohm", "v"} {
		n := len(text) - len(unit)
		if n <= 0 || !strings.EqualFold(text[n:], unit) {
			continue
		}
		if before, _ := utf8.DecodeLastRuneInString(text[:n]); strings.ContainsRune("0123456789.pnuµμmkKMG", before) {
			return text[:n] + map[string]string{"ohms": "ohm", "ohm": "ohm", "v": "V"}[unit]
		}
	}
	return text
}

// number fills in a number of a method; OL is more than the meter shows.
func (p *readingParser) number(how Method, v piece) error {
	p.r.Probe.Method = how
	unit, open := Ohm, 0.0
	example := "a number such as 40k, or OL"
	switch how {
	case Volts:
		unit, example = Volt, "a voltage such as 12.2V"
	case Activity:
		unit, example = Volt, "by how many volts it moves, such as 0.35V"
	case Diode:
		unit, open, example = Volt, openDiode, "a number such as 0.62V, or OL"
	case Ohms, Across, Look:
		open = openOhms
	}
	switch {
	case open > 0 && isOpen(v.text):
		p.r.Value = math.Inf(1)
		return nil
	case isOpen(v.text):
		return p.fail(v, "OL tells no voltage", example, "")
	case isZeroL(v.text):
		return p.fail(v, "a zero and an L can be a short and can be open", "OL where the meter shows that, 0 where it shows nothing", "")
	}
	if _, word := meterWords[strings.ToLower(v.text)]; open > 0 && (word || slices.Contains(ObservationWords(), strings.ToLower(v.text))) {
		return p.told(v)
	}
	if strings.ContainsAny(v.text[:1], "<>~") {
		return p.bound(v, unit, open)
	}
	x, err := p.plain(v, unit, example)
	switch {
	case err != nil:
		return err
	case unit == Volt && math.Abs(x) > mostVolts:
		return p.fail(v, "no point of such a board stands that high", example, "")
	case how == Diode && x > mostDiode:
		return p.fail(v, "power is still in: switch off, take power and battery out",
			"at most about "+FormatValue(mostDiode, Volt)+" in diode mode, such as 0.62V, or OL", "")
	case x < 0 && how != Volts:
		return p.fail(v, "a meter does not show less than nothing here", "the leads exchanged", "")
	}
	p.r.Value = x + 0 // a minus before nothing says nothing
	return nil
}

// bound takes "more than" where a meter shows OL there, and refuses other bounds.
func (p *readingParser) bound(v piece, unit Unit, open float64) error {
	rest := piece{v.text[1:], v.at + 1}.trim()
	x, err := ParseValue(plainUnit(rest.text), unit)
	switch {
	case err != nil && rest.text == "":
		return p.fail(v, "there is no number", "the number that the meter shows", "")
	case err != nil:
		return p.fail(rest, err.Error(), "the number that the meter shows", "")
	case v.text[0] == '>' && open > 0 && x >= open:
		p.r.Value = math.Inf(1)
		return nil
	case v.text[0] == '>' && open > 0:
		return p.fail(v, "that says how far the range of the meter goes, and not what is read",
			"the number on the highest range, or OL where that shows none", "")
	}
	return p.fail(v, "that is no number that a meter shows", "the number itself", strings.ReplaceAll(plainUnit(rest.text), " ", ""))
}

// plain reads a number in a unit.
func (p *readingParser) plain(v piece, unit Unit, example string) (float64, error) {
	text := plainUnit(v.text)
	x, err := ParseValue(text, unit)
	if err == nil {
		return x, nil
	}
	pointed := plainUnit(strings.ReplaceAll(text, ",", "."))
	if _, dot := ParseValue(pointed, unit); dot == nil {
		return 0, p.fail(v, "a comma can stand for the point or for thousands", "the number with a point and without commas", pointed)
	}
	if tight := strings.Join(strings.Fields(text), ""); tight != text {
		if _, whole := ParseValue(tight, unit); whole == nil {
			return 0, p.fail(v, "a number has no blank in it", example, tight)
		}
	}
	return 0, p.fail(v, err.Error(), example, "")
}

// words reads what was seen in a word: quiet, floating, ok, unread.
func (p *readingParser) words(v piece) error {
	r := &p.r
	t := Target{r.Probe.Net, None, r.Probe.Fact}
	if r.Seen != nil {
		t = r.Seen.Target
	}
	o, w := p.b.seeWord(t, v.text, r.Probe.State.Setting)
	if w != nil {
		at := v
		if !w.inValue {
			at = piece{p.b.TargetName(t), 0}
		}
		return p.fail(at, w.msg, w.want, w.near)
	}
	r.Seen = &o
	r.Probe.Method = Look
	switch {
	case t.Net != None && slices.Contains(activityWords, strings.ToLower(v.text)):
		r.Probe.Method = Activity
	case t.Net != None:
		r.Probe.Method = Volts
	}
	return nil
}
