// Package panel tells what a panel asks of a board: which of the board's lanes
// must be alive with it, and which are right to be quiet.
//
//	spec, err := panel.Of(board)
//	fitted, err := panel.Fit(board, spec, read)
//	walk, err := trace.Run(fitted.Board, …)
package panel

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/panel/dump"
	"example.org/walkback/trace/panel/edid"
	"example.org/walkback/trace/panel/link"
	"example.org/walkback/trace/panel/mode"
	"example.org/walkback/trace/panel/rom"
)

// Spec is a panel as a board file or a command line describes it. Fields that
// are zero are not told.
type Spec struct {
	EDID     string // file with its identity data
	Mode     string // as mode.Parse takes it
	Link     link.Kind
	Bits     int // a pixel
	Channels int
	Lanes    int
	Rate     float64 // bit/s of an eDP lane
	Map      string  // bit order of a 24-bit LVDS link: vesa or jeida
	Shown    bool    // texts name the panel even when it uses every lane
}

// Told reports whether there is a mode or a file to go by.
func (s Spec) Told() bool { return s.EDID != "" || s.Mode != "" }

// keys are the words of a spec, the attributes of a panel in a board file.
var keys = []string{"edid", "mode", "link", "bits", "channels", "lanes", "rate", "map"}

// set takes one attribute. What it may be stands in the table of part kinds.
func (s *Spec) set(key, text string) error {
	if !slices.Contains(keys, key) {
		return mistake.Unknown("property of a panel", key, keys)
	}
	words, low := netlist.KindByName("panel").AttrByName(key).Words, strings.ToLower(text)
	pixel := map[string]string{"6": "18", "8": "24", "10": "30", "12": "36"}[text]
	switch {
	case text == "":
		return fmt.Errorf("nothing stands behind %s=", key)
	case key == "bits" && pixel != "":
		return fmt.Errorf("bits a pixel: %s, not %s a colour", pixel, text)
	case len(words) > 0 && !slices.Contains(words, low):
		hint := mistake.DidYouMean(mistake.Nearest(text, words))
		return fmt.Errorf("%q is not a value of %s: one of %s", text, key, strings.TrimSuffix(strings.Join(words, ", ")+"; "+hint, "; "))
	}
	number, _ := strconv.ParseFloat(low, 64)
	switch key {
	case "edid":
		s.EDID = text
	case "mode":
		s.Mode = text
	case "link":
		s.Link = map[string]link.Kind{"lvds": link.LVDS, "edp": link.EDP}[low]
	case "bits":
		s.Bits = int(number)
	case "channels":
		s.Channels = int(number)
	case "lanes":
		s.Lanes = int(number)
	case "rate":
		s.Rate = number * 1e9
	case "map":
		s.Map = low
	}
	return nil
}

// Parse reads what a command line tells of a panel: a mode or the name of a file,
// then KEY=VALUE with the attributes of a panel in a board file, between commas.
// isFile reports whether a name is that of a file.
func Parse(text string, isFile func(string) bool) (Spec, error) {
	var s Spec
	told := map[string]bool{}
	for i, word := range strings.Split(text, ",") {
		word = strings.TrimSpace(word)
		key, value, pair := strings.Cut(word, "=")
		if key = strings.TrimSpace(key); !pair {
			key = "panel"
		}
		if key == "edid" || key == "mode" {
			key = "panel" // either says which panel it is
		}
		if told[key] && (pair || i > 0 && key != "panel") {
			return s, fmt.Errorf("panel %q: %s says once more what was said", text, word)
		}
		told[key] = true
		switch {
		case word == "":
			return s, fmt.Errorf("panel %q: nothing stands between two commas", text)
		case pair:
			name, _, _ := strings.Cut(word, "=")
			if err := s.set(strings.TrimSpace(name), strings.TrimSpace(value)); err != nil {
				return s, fmt.Errorf("panel %q: %w", text, err)
			}
		case i > 0:
			return s, fmt.Errorf("panel %q: expected KEY=VALUE behind the comma, not %q", text, word)
		case isFile(word):
			s.EDID = word
		default:
			if _, err := mode.Parse(word); err != nil {
				var m mistake.Mistake
				errors.As(err, &m)
				m.Msg = fmt.Sprintf("there is no file %q, and as a mode: %s", word, m.Msg)
				return s, m
			}
			s.Mode = word
		}
	}
	if !s.Told() {
		return s, fmt.Errorf("panel %q: a file with identity data or a mode is missing", text)
	}
	return s, nil
}

// Part returns the first part of a board that says what panel it is.
func Part(b *netlist.Board) (*netlist.Part, bool) {
	for i := range b.Parts {
		if p := &b.Parts[i]; tells(p) {
			return p, true
		}
	}
	return nil, false
}

// tells reports whether a part says what panel is fitted.
func tells(p *netlist.Part) bool {
	_, file := p.Attr("edid")
	_, mode := p.Attr("mode")
	return file || mode
}

// Of returns what a board file tells of its panel; the zero Spec when it tells
// nothing.
func Of(b *netlist.Board) (Spec, error) {
	var s Spec
	p, ok := Part(b)
	if !ok {
		return s, nil
	}
	for _, key := range keys {
		if a, ok := p.Attr(key); ok {
			if err := s.set(key, a.Text); err != nil {
				return s, fmt.Errorf("%s: %w", p.Name, err)
			}
		}
	}
	return s, nil
}

// Asked is what a panel asks for, with where that was read.
type Asked struct {
	Spec Spec
	link.Ask
	Bytes []byte     // of the identity memory, nil for a mode
	EDID  *edid.EDID // nil for a mode
	Notes []string   // what the reader of the file should know
	Doubt string     // why what the file says may be wrong, so that nothing may hang on it; empty when it is sound
}

// Read finds out what a panel asks for. read returns a file that the spec names.
func (s Spec) Read(read func(name string) ([]byte, error)) (Asked, error) {
	a := Asked{Spec: s, Ask: link.Ask{Kind: s.Link, Bits: s.Bits, Channels: s.Channels, Lanes: s.Lanes, Rate: s.Rate}}
	if s.EDID != "" {
		if err := a.readFile(read); err != nil {
			return a, err
		}
	}
	if s.Mode != "" {
		m, err := mode.Parse(s.Mode)
		if err != nil {
			return a, err
		}
		if a.EDID != nil && a.Mode.Clock != 0 && m != a.Mode {
			a.Notes = append(a.Notes, fmt.Sprintf("the mode %s is taken, not that of %s", s.Mode, s.EDID))
		}
		a.Mode = m
	}
	if a.Mode.Clock == 0 {
		return a, errors.New("a panel needs a mode or a file with identity data")
	}
	return a, nil
}

// slowest and fastest are the frames a second, in Hz, between which a panel's own
// timing is believed: common practice, no source.
const slowest, fastest = 20, 500

// doubt tells why a timing that was read may not be the panel's.
func doubt(name string, d dump.Dump, e *edid.EDID, t edid.Timing) string {
	found := rom.Diagnose(d.Bytes, d.Missing)
	switch i := slices.IndexFunc(found, func(f rom.Finding) bool { return f.Certain }); {
	case len(d.Missing) > 0:
		return fmt.Sprintf("%s was not read whole, so what it says may be wrong", name)
	case !e.ChecksumOK:
		return fmt.Sprintf("the checksum of %s is wrong, so what it says may be too", name)
	case i >= 0:
		return fmt.Sprintf("%s may not be what the memory holds: %s", name, found[i].Says)
	}
	if why := t.Impossible(); why != "" {
		return fmt.Sprintf("%s asks for a timing that cannot be: %s", name, why)
	}
	if rate := t.Rate(); rate < slowest || rate > fastest {
		return fmt.Sprintf("%s asks for %.1f frames a second, which no panel shows", name, rate)
	}
	return ""
}

func (a *Asked) readFile(read func(name string) ([]byte, error)) error {
	name := a.Spec.EDID
	data, err := read(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no file %s with the identity data of the panel", name)
	case err != nil:
		return err
	}
	d, err := dump.Read(name, data)
	if err != nil {
		return err
	}
	a.Bytes, a.Notes = d.Bytes, append(a.Notes, d.Notes...)
	e, err := edid.Decode(d.Bytes)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	a.EDID = e
	t, ok := e.Preferred()
	if !ok || t.Clock == 0 || !e.HeaderOK {
		why := "it has no detailed timing"
		if found := rom.Diagnose(d.Bytes, d.Missing); len(found) > 0 {
			why = found[0].Says
		}
		return fmt.Errorf("%s tells of no mode: %s\n  walkback panel edid %s tells more", name, why, name)
	}
	if a.Doubt = doubt(name, d, e, t); a.Doubt != "" {
		a.Notes = append(a.Notes, a.Doubt)
	}
	a.Mode = t.Mode
	a.Most = 3 * e.BitsPerColour
	if a.Kind == link.Unknown && e.Interface == "DisplayPort" {
		a.Kind = link.EDP
	}
	if n := e.Notebook; n != nil && n.LVDSChannels > 0 && a.Kind != link.EDP {
		a.Kind = link.LVDS
		if a.Channels == 0 {
			a.Channels = n.LVDSChannels
		}
	}
	return nil
}
