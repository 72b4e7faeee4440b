package netlist

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestKindNamesAreUnique(t *testing.T) {
	seen := map[string]bool{}
	for _, name := range KindNames() {
		if seen[name] {
			t.Errorf("the kind %s stands twice", name)
		}
		seen[name] = true
		if k := KindByName(name); k == nil || k.Name != name {
			t.Errorf("KindByName(%q) = %v", name, k)
		}
		if isRuleWord(name) || slices.ContainsFunc(StatementWords, func(w struct{ Name, Form, Doc string }) bool { return w.Name == name }) {
			t.Errorf("the kind %s has the name of a word of the format", name)
		}
	}
	for alias, kind := range kindAliases {
		if seen[alias] {
			t.Errorf("the alias %s hides a kind", alias)
		}
		if !seen[kind] && kind != "net" {
			t.Errorf("the alias %s leads to %s, which is no kind", alias, kind)
		}
	}
}

// TestKindsOfTheRequest lists the parts that the request for this program names.
func TestKindsOfTheRequest(t *testing.T) {
	for _, name := range []string{
		"supply", "source", "fuse", "resistor", "capacitor", "coil", "ferrite", "filter", "choke", "diode", "pfet", "nfet",
		"loadswitch", "regulator", "boost", "leds", "connector", "cable", "rom", "panel", "mux", "buffer", "and", "or",
		"inverter", "nand", "nor", "sensor", "point",
	} {
		if KindByName(name) == nil {
			t.Errorf("there is no kind %s", name)
		}
	}
}

// exampleBoard puts the example of a kind on a small board.
func exampleBoard(k *Kind) string {
	return "board small \"Small\"\nnet GND ground\nsupply PS99 -> RAIL\n" + k.Example + "\n"
}

func TestEveryExampleReads(t *testing.T) {
	for i := range Kinds {
		k := &Kinds[i]
		board, problems := Read("example.board", exampleBoard(k))
		for _, p := range problems {
			// Nets that lead nowhere are no wonder on a board of two parts.
			if p.Code != "dangling" {
				t.Errorf("%s:\n%s", k.Name, p.Report())
			}
		}
		if len(board.Parts) != 2 || board.Parts[1].Kind != k || len(board.Parts[1].Conns) == 0 {
			t.Errorf("%s: the example makes no part of its kind: %q", k.Name, k.Example)
		}
	}
}

func TestTablesPointAtEachOther(t *testing.T) {
	for i := range Kinds {
		k := &Kinds[i]
		hasPin := func(name string) bool { return k.PinIndex(name) >= 0 }
		hasAttr := func(name string) bool { return k.AttrByName(name) != nil }
		for _, p := range k.Passes {
			if !hasPin(p.A) || !hasPin(p.B) || p.Control != "" && !hasPin(p.Control) {
				t.Errorf("%s: the pass %+v names a pin that is not there", k.Name, p)
			}
			if p.Value != "" && !hasAttr(p.Value) {
				t.Errorf("%s: the pass %+v names an attribute that is not there", k.Name, p)
			}
			if p.Ohms <= 0 {
				t.Errorf("%s: the pass %+v has no resistance", k.Name, p)
			}
		}
		for _, g := range k.Gives {
			if !hasPin(g.Pin) {
				t.Errorf("%s gives on the pin %s, which is not there", k.Name, g.Pin)
			}
		}
		if k.Main != "" && !hasAttr(k.Main) {
			t.Errorf("%s: the main attribute %s is not there", k.Name, k.Main)
		}
		if k.Logic != NoLogic && (!hasPin("in") || !hasPin("out")) {
			t.Errorf("%s is a gate without in or out", k.Name)
		}
		for _, word := range k.Rules {
			if !isRuleWord(word) {
				t.Errorf("%s allows the rule %s, which the lexer does not know", k.Name, word)
			}
		}
		for _, a := range k.Attrs {
			if hasPin(a.Name) && (k.Form != ArrowForm || k.PinIndex(a.Name) >= 2) {
				t.Errorf("%s: %s is a pin and an attribute", k.Name, a.Name)
			}
			if a.Default != "" && len(a.Words) == 0 {
				if _, err := ParseValue(a.Default, a.Unit); err != nil {
					t.Errorf("%s: the default of %s: %v", k.Name, a.Name, err)
				}
			}
		}
		if (k.Form == ArrowForm || k.Form == RowsForm) && len(k.Pins) < 2 {
			t.Errorf("%s is written with an arrow and has %d pins", k.Name, len(k.Pins))
		}
		if len(k.Letters) == 0 || k.Summary == "" {
			t.Errorf("%s has no designator letters or no summary", k.Name)
		}
	}
}

func TestEveryKindFailsInSomeWay(t *testing.T) {
	for i := range Kinds {
		k := &Kinds[i]
		if len(k.Faults) == 0 {
			t.Errorf("%s never fails", k.Name)
		}
		sum, seen := 0.0, map[string]bool{}
		for _, f := range k.Faults {
			if f.Source == "" || f.Doc == "" {
				t.Errorf("%s: the fault %s has no source or no words", k.Name, f.Name)
			}
			if seen[f.Name] {
				t.Errorf("%s: the fault %s stands twice", k.Name, f.Name)
			}
			seen[f.Name] = true
			sum += f.Share
		}
		// Handbook shares are rounded to hundredths, so a sum may be off by one.
		if sum != 0 && math.Abs(sum-1) > 0.011 {
			t.Errorf("%s: the shares make %.2f", k.Name, sum)
		}
	}
}

// TestSharesOfTheHandbook compares the failure-mode shares with the ratios of
// MIL-HDBK-338B (1998), after FMD-91, as transcribed in check-values 4.1 (the
// handbook's own table was not seen).
func TestSharesOfTheHandbook(t *testing.T) {
	coil := map[string]float64{"open": .42, "short": .42, "drifted": .16} // "Coil / inductor"
	diode := map[string]float64{"short": .49, "open": .36, "drifted": .15}
	fet := map[string]float64{"short": .51, "weak": .22, "drifted": .17, "open": .05, "stuck-on": .05} // "Transistor, FET (Si)"
	digital := map[string]float64{"stuck-high": .28, "stuck-low": .28, "input-open": .22, "output-open": .22}
	linear := map[string]float64{"wrong-output": .77, "no-output": .23}
	want := map[string]map[string]float64{
		"fuse":      {"no-open": .49, "slow": .43, "open": .08},
		"connector": {"open": .61, "intermittent": .11, "poor": .12, "bridge": .16},
		"capacitor": {"short": .49, "drifted": .29, "open": .22}, // "Capacitor, ceramic"
		"resistor":  {"open": .59, "drifted": .36, "short": .05}, // "Resistor, film"
		"coil":      coil, "ferrite": coil, "filter": coil, "choke": coil,
		"diode": diode, "clamp": diode,
		"pfet": fet, "nfet": fet,
		"npn":       {"short": .73, "open": .27}, // "Transistor, bipolar"
		"leds":      {"open": .70, "short": .30}, // "Optoelectronic"
		"rom":       {"corrupt": .34, "short": .26, "open": .23, "slow": .17},
		"regulator": linear, "boost": linear,
		"source": digital, "controller": digital, "panel": digital, "mux": digital, "sensor": digital,
		"buffer": digital, "inverter": digital, "and": digital, "or": digital, "nand": digital, "nor": digital,
	}
	got := map[string]map[string]float64{}
	for i := range Kinds {
		for _, f := range Kinds[i].Faults {
			if !strings.HasPrefix(f.Source, "MIL-HDBK-338B") {
				continue
			}
			if got[Kinds[i].Name] == nil {
				got[Kinds[i].Name] = map[string]float64{}
			}
			got[Kinds[i].Name][f.Name] = f.Share
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("shares of the handbook (-want +got):\n%s", diff)
	}
	// FMD-91, from memory: power supply, cable and zener diode.
	remembered := map[string]map[string]float64{
		"supply": {"no-output": .52, "wrong-output": .48},
		"cable":  {"bridge": .45, "intermittent": .18, "poor": .18, "open": .19},
		"zener":  {"open": .45, "drifted": .35, "short": .20}, // "Diode, zener, voltage regulator"
	}
	for name, shares := range remembered {
		own := map[string]float64{}
		for _, f := range KindByName(name).Faults {
			own[f.Name] = f.Share
			if !strings.Contains(f.Source, "from memory") {
				t.Errorf("%s: the source of %s does not say that it is from memory: %s", name, f.Name, f.Source)
			}
		}
		if diff := cmp.Diff(shares, own); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// TestEveryKindHasAWeight since a fault that no bench ever meets is not looked for.
func TestEveryKindHasAWeight(t *testing.T) {
	for i := range Kinds {
		if k := &Kinds[i]; k.Bench <= 0 {
			t.Errorf("%s has no weight", k.Name)
		}
	}
}

// TestFaultsCanBeSimulated checks that each effect has what it needs.
func TestFaultsCanBeSimulated(t *testing.T) {
	for i := range Kinds {
		k := &Kinds[i]
		for _, f := range k.Faults {
			switch f.Does {
			case Joins, Scales, Grounds, Bridges, LeaksGate, Levels, Limits, Darkens:
				if f.Value <= 0 {
					t.Errorf("%s: %s has no value", k.Name, f.Name)
				}
			}
			if f.Pin != "" && k.PinIndex(f.Pin) < 0 {
				t.Errorf("%s: %s is about a pin %s, which is not there", k.Name, f.Name, f.Pin)
			}
			if f.Does == Grounds && f.Per == PerPart && f.Pin == "" {
				t.Errorf("%s: %s does not say which pin", k.Name, f.Name)
			}
		}
		for _, p := range k.Passes {
			if p.Ref != "" && k.PinIndex(p.Ref) < 0 {
				t.Errorf("%s: the pass refers to a pin %s, which is not there", k.Name, p.Ref)
			}
		}
	}
}

// TestClassLetters compares the usual designators with the class letters of
// IEEE 315-1975, clause 22 (from memory). FB for a ferrite bead and CN for a
// connector are common practice, no source.
func TestClassLetters(t *testing.T) {
	want := map[string][]string{
		"supply": {"PS", "BT"}, "fuse": {"F"}, "resistor": {"R", "RT"}, "capacitor": {"C"}, "coil": {"L"},
		"ferrite": {"FB", "E"}, "filter": {"FL"}, "choke": {"FL", "L"}, "diode": {"D", "CR"}, "clamp": {"D", "CR", "VR"},
		"pfet": {"Q"}, "nfet": {"Q"}, "npn": {"Q"}, "shifter": {"Q", "U"}, "zener": {"D", "CR", "VR"}, "loadswitch": {"U", "Q"},
		"regulator": {"U", "VR"}, "boost": {"U"},
		"leds": {"DS"}, "panel": {"DS"}, "connector": {"J", "P", "CN"}, "cable": {"W"}, "point": {"TP"}, "sensor": {"U", "S"},
		"source": {"U"}, "controller": {"U"}, "rom": {"U"}, "mux": {"U"}, "buffer": {"U"}, "inverter": {"U"},
		"and": {"U"}, "or": {"U"}, "nand": {"U"}, "nor": {"U"},
	}
	for i := range Kinds {
		k := &Kinds[i]
		letters, known := want[k.Name]
		if !known {
			t.Errorf("%s is not in the list of letters", k.Name)
		}
		for _, l := range letters {
			if !slices.Contains(k.Letters, l) {
				t.Errorf("%s does not take the letters %s, only %v", k.Name, l, k.Letters)
			}
		}
		if known && k.Letters[0] != letters[0] {
			t.Errorf("%s names %s first, want %s", k.Name, k.Letters[0], letters[0])
		}
	}
}

// TestReferenceTellsAll checks that nothing in the tables is missing in what is
// printed of them.
func TestReferenceTellsAll(t *testing.T) {
	var ref bytes.Buffer
	if err := WriteReference(&ref); err != nil {
		t.Fatal(err)
	}
	for _, w := range StatementWords {
		if !strings.Contains(ref.String(), w.Form) {
			t.Errorf("the reference leaves out the form of %s", w.Name)
		}
	}
	for _, w := range RuleWords {
		if !strings.Contains(ref.String(), w.Form) || !isRuleWord(w.Name) {
			t.Errorf("the reference or the lexer leaves out %s", w.Name)
		}
	}
	for i := range Kinds {
		k := &Kinds[i]
		if !strings.Contains(ref.String(), k.Example) {
			t.Errorf("the reference leaves out %s", k.Name)
		}
		var one bytes.Buffer
		if err := WriteKind(&one, k); err != nil {
			t.Fatal(err)
		}
		unbroken := strings.Join(strings.Fields(one.String()), " ")
		for _, p := range k.Pins {
			if !strings.Contains(one.String(), "  "+p.Name) {
				t.Errorf("what is printed of %s leaves out the pin %s", k.Name, p.Name)
			}
		}
		for _, a := range k.Attrs {
			if !strings.Contains(unbroken, a.Doc) {
				t.Errorf("what is printed of %s leaves out the attribute %s", k.Name, a.Name)
			}
		}
		for _, f := range k.Faults {
			if !strings.Contains(unbroken, f.Name) || !strings.Contains(unbroken, f.Source) {
				t.Errorf("what is printed of %s leaves out the fault %s or its source", k.Name, f.Name)
			}
		}
	}
}
