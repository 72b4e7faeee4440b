package netlist

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// sameModel compares boards by what they mean: without places in the text and
// without the indexes that follow from the rest.
var sameModel = cmp.Options{
	cmpopts.IgnoreTypes(Span{}), cmpopts.IgnoreUnexported(Board{}), cmpopts.EquateEmpty(),
	cmp.Comparer(func(a, b *Kind) bool { return a == b }), cmp.Comparer(func(a, b *Attr) bool { return a == b }),
}

// boardSources returns the demo boards by file name.
func boardSources(t testing.TB) map[string]string {
	t.Helper()
	paths, err := filepath.Glob("../boards/*.board")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no boards in ../boards: %v", err)
	}
	out := map[string]string{}
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(p)] = string(data)
	}
	return out
}

// buildClean parses and builds a text that must have no problem.
func buildClean(t testing.TB, src string) *Board {
	t.Helper()
	board, problems := Build(parseClean(t, src))
	for _, p := range problems {
		t.Errorf("%s", p.Report())
	}
	return board
}

// model prints what a board means, a line for each thing, so that tests can
// show the whole of it.
func model(b *Board) []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	nets := func(ids []NetID) string {
		list := make([]string, len(ids))
		for i, id := range ids {
			list[i] = b.Nets[id].Name
		}
		return strings.Join(list, ",")
	}
	for _, s := range b.States {
		add("state %s %s", s.Name, strings.Join(s.Values, " "))
	}
	for _, n := range b.Nets {
		line := "net " + n.Name
		if n.Ground {
			line += " ground"
		}
		for _, e := range n.Expect {
			line += fmt.Sprintf(" %v±%v", e.Value, e.Tol)
			if e.Swing != 0 || e.Rate != 0 {
				line += fmt.Sprintf("~%v@%v", e.Swing, e.Rate)
			}
			for _, w := range e.When {
				line += "[" + b.States[w.State].Name + "=" + b.States[w.State].Values[w.Value] + "]"
			}
		}
		if n.Cold.Value != 0 || n.Diode.Value != 0 {
			line += fmt.Sprintf(" cold=%v diode=%v", n.Cold.Value, n.Diode.Value)
		}
		if n.Like != None {
			line += " like " + b.Nets[n.Like].Name + " across " + b.Parts[n.Across].Name
		}
		add("%s", line)
	}
	for i := range b.Parts {
		p := &b.Parts[i]
		line := "part " + p.Kind.Name + " " + p.Name
		for _, c := range p.Conns {
			line += fmt.Sprintf(" %s.%d", p.Pin(c).Name, c.Channel)
			if c.Num != "" {
				line += "@" + c.Num
			}
			line += "=" + b.Nets[c.Net].Name
		}
		for _, a := range p.Attrs {
			line += fmt.Sprintf(" %s:%v(%s)", a.Attr.Name, a.Value, a.Text)
		}
		add("%s", line)
		for _, r := range p.Rules {
			rule := "  " + r.Word
			if r.Fact != None {
				rule += " " + b.Facts[r.Fact].Name
			}
			if r.From != None {
				rule += " from " + b.Parts[r.From].Name + " at " + nets(r.At)
			}
			add("%s %s when %s", rule, nets(r.Nets), b.ExprText(r.When))
		}
	}
	for _, l := range b.Lanes {
		add("lane %s %s clock=%v", l.Name, nets(l.Nets), l.Clock)
	}
	for _, s := range b.Stages {
		line := fmt.Sprintf("stage %d %q", s.Number, s.Words)
		for _, t := range s.Targets {
			line += " " + b.TargetName(t)
		}
		add("%s", line)
	}
	for _, s := range b.Symptoms {
		line := fmt.Sprintf("symptom %s %q", s.Name, s.Words)
		for _, o := range s.Seen {
			line += fmt.Sprintf(" %s=%s(wrong=%v)", b.TargetName(o.Target), o.Word, o.Wrong)
		}
		add("%s", line)
	}
	return out
}

func TestBuild(t *testing.T) {
	for _, row := range []struct {
		story, src string
		want       []string
	}{
		{"a fuse joins two nets", "fuse F1 A -> B rating=3A r=25m",
			[]string{"net A", "net B", "part fuse F1 a.0=A b.0=B rating:3(3A) r:0.025(25m)"}},
		{"lists make channels", "choke FL1 A,B -> C,D",
			[]string{"net A", "net B", "net C", "net D", "part choke FL1 a.0=A a.1=B b.0=C b.1=D"}},
		{"ranges are written out", "leds DS1 V -> K1..K3\nboost U1 in=V lx=X en=E sink=K08..10",
			[]string{"net V", "net K1", "net K2", "net K3", "net X", "net E", "net K08", "net K09", "net K10",
				"part leds DS1 a.0=V k.0=K1 k.1=K2 k.2=K3", "part boost U1 in.0=V lx.0=X en.0=E sink.0=K08 sink.1=K09 sink.2=K10"}},
		{"a bare value is the main attribute", "resistor R1 A -> B 2k2 tol=1%",
			[]string{"net A", "net B", "part resistor R1 a.0=A b.0=B r:2200(2k2) tol:0.01(1%)"}},
		{"quotes round a value do not matter", `fuse F1 A -> B rating="3A" side="top" at="by the edge"`,
			[]string{"net A", "net B", "part fuse F1 a.0=A b.0=B rating:3(3A) side:0(top) at:0(by the edge)"}},
		{"pin numbers", "rom U1 vdd@8=V scl@6=C sda@5=D gnd=G",
			[]string{"net V", "net C", "net D", "net G", "part rom U1 vdd.0@8=V scl.0@6=C sda.0@5=D gnd.0=G"}},
		{"rows of a connector", "connector J1\n  pin 1 A -> B\n  pin 2 G\n  pin 3a C -> D",
			[]string{"net A", "net B", "net G", "net C", "net D",
				"part connector J1 a.0@1=A b.0@1=B a.1@2=G a.2@3a=C b.2@3a=D"}},
		{"a clamp on many lines", "clamp D1 A,B -> G",
			[]string{"net A", "net B", "net G", "part clamp D1 a.0=A a.1=B b.0=G"}},
		{"ends of walks", "supply PS1 -> V limit=8A\npoint TP1 V side=top",
			[]string{"net V", "part supply PS1 out.0=V limit:8(8A)", "part point TP1 net.0=V side:0(top)"}},
		{"what a net reads", "state lid open shut\nnet G ground\nnet A,B 3.3V 5% swing=1V rate=2kHz cold=4k7 diode=0.5V \"x\"\n  expect 0V " +
			"when lid=shut",
			[]string{"state lid open shut", "net G ground",
				"net A 0±0[lid=shut] 3.3±0.05~1@2000 cold=4700 diode=0.5", "net B 0±0[lid=shut] 3.3±0.05~1@2000 cold=4700 diode=0.5"}},
		{"either state or both", "state a x y\nstate b x y\nnet N 5V\n  expect 1V when a=y & b=y\n  expect 2V 3% when a=y | b=y",
			[]string{"state a x y", "state b x y", "net N 1±0[a=y][b=y] 2±0.03[a=y] 2±0.03[b=y] 5±0"}},
		{"rules join their nets to the chip",
			"state p run off\nsource U1 vdd=V gnd=G io=I\n  drives O when I & (X | !p=off)\n  sends L\n  makes F when L\nnet X 3V",
			[]string{"state p run off", "net V", "net G", "net I", "net O", "net L", "net X 3±0",
				"part source U1 vdd.0=V gnd.0=G io.0=I io.0=O io.0=L io.0=X",
				"  drives O when I & (X | !p=off)", "  sends L when always", "  makes F  when L"}},
	} {
		t.Run(row.story, func(t *testing.T) {
			src := "board b \"B\"\n" + row.src + "\n"
			if diff := cmp.Diff(row.want, model(buildClean(t, src))); diff != "" {
				t.Errorf("%s(-want +got):\n%s", src, diff)
			}
		})
	}
}

// TestWhatAStrangerTypesMeansTheSame compares boards written in other ways with
// the one in the plain way.
func TestWhatAStrangerTypesMeansTheSame(t *testing.T) {
	plain := "board b \"B\"\nstate lid open shut\nnet G ground\nnet A 3.3V 5%\nsource U1 vdd=A gnd=G\n    drives K1 K2 when A & lid=open | " +
		"!F\n    makes F when A\nleds DS1 A -> K1,K2,K3,K4 series=10\n"
	want := buildClean(t, plain)
	for story, src := range map[string]string{
		"line ends":                strings.ReplaceAll(plain, "\n", "\r\n"),
		"byte order mark":          "\uFEFF" + plain,
		"tabs":                     strings.ReplaceAll(strings.ReplaceAll(plain, "    ", "\t"), " ", "\t"),
		"no last newline":          strings.TrimSuffix(plain, "\n"),
		"spaces round equals":      strings.ReplaceAll(plain, "=", " = "),
		"spaces in lists":          strings.ReplaceAll(plain, "K1,K2,K3,K4", "K1 , K2,K3 ,K4"),
		"doubled signs":            strings.ReplaceAll(strings.ReplaceAll(plain, " & ", " && "), " | ", "||"),
		"tight signs":              strings.ReplaceAll(strings.ReplaceAll(plain, " & ", "&"), " | ", "|"),
		"needless parentheses":     strings.ReplaceAll(plain, "A & lid=open | !F", "((A) & (lid=open)) | (!(F))"),
		"a range":                  strings.ReplaceAll(plain, "K1,K2,K3,K4", "K1..K4"),
		"a short range":            strings.ReplaceAll(plain, "K1,K2,K3,K4", "K1..4"),
		"a list in a rule":         strings.ReplaceAll(plain, "K1 K2 when", "K1,K2 when"),
		"a range in a rule":        strings.ReplaceAll(plain, "K1 K2 when", "K1..2 when"),
		"remarks":                  strings.ReplaceAll(plain, "\n", " # why\n# more\n\n"),
		"a rule on two lines":      strings.ReplaceAll(plain, " | !F", "\n  | !F"),
		"a statement on two lines": strings.ReplaceAll(plain, " gnd=G", "\n  gnd=G"),
		"tolerance with a point":   strings.ReplaceAll(plain, "5%", "5.0%"),
		"a value code":             strings.ReplaceAll(plain, "3.3V", "3V3"),
		"no arrow spaces":          strings.ReplaceAll(plain, " -> ", "->"),
		"deep indents":             strings.ReplaceAll(plain, "    ", "                "),
	} {
		t.Run(story, func(t *testing.T) {
			if src == plain {
				t.Fatal("the variant is not one")
			}
			if diff := cmp.Diff(want, buildClean(t, src), sameModel); diff != "" {
				t.Errorf("%s(-plain +variant):\n%s", src, diff)
			}
		})
	}
}

// TestBuildAsAWhole compares every field of a small board.
func TestBuildAsAWhole(t *testing.T) {
	b := buildClean(t, `board b "Small"
state lid open shut "the lid"
net GND ground
net V 3.3V 5% cold=1k
    expect 0V when lid=shut
supply PS1 -> V "battery"
panel DS1 vdd=V gnd=GND
    makes LIGHT when P & lid=open
lane P L1 L2 clock "pair"
stage 1 "rail" V LIGHT
symptom dark "no light" liquid LIGHT=no V=3.3V drop
`)
	gnd, v, l1, l2 := NetID(0), NetID(1), NetID(2), NetID(3)
	off := []StateIs{{0, 1}}
	panel := KindByName("panel")
	light, pair, rail := Target{None, None, 0}, Target{None, 0, None}, Target{v, None, None}
	want := &Board{
		Name: "b", Title: "Small",
		States: []State{{Name: "lid", Values: []string{"open", "shut"}, Note: "the lid"}},
		Nets: []Net{
			{Name: "GND", Ground: true, Declared: true, Like: None, Across: None},
			{Name: "V", Expect: []Expect{{When: off}, {Band: Band{3.3, 0.05}}}, Cold: Band{1000, 0.3}, Declared: true, Like: None, Across: None},
			{Name: "L1", Like: None, Across: None},
			{Name: "L2", Like: None, Across: None},
		},
		Parts: []Part{
			{Kind: KindByName("supply"), Name: "PS1", Conns: []Conn{{Net: v}}, Note: "battery"},
			{
				Kind: panel, Name: "DS1",
				Conns: []Conn{
					{Pin: int16(panel.PinIndex("vdd")), Net: v}, {Pin: int16(panel.PinIndex("gnd")), Net: gnd},
					{Pin: int16(panel.PinIndex("io")), Net: l1}, {Pin: int16(panel.PinIndex("io")), Net: l2},
				},
				Rules: []Rule{{Word: "makes", Fact: 0, From: None, When: &Expr{Op: AndExpr, Target: Target{}, Kids: []*Expr{
					{Op: AtomExpr, Target: pair}, {Op: StateExpr, State: StateIs{0, 0}, Target: Target{None, None, None}},
				}}}},
			},
		},
		Lanes: []Lane{{Name: "P", Nets: []NetID{l1, l2}, Clock: true, Note: "pair"}},
		Facts: []Fact{{Name: "LIGHT", Makers: []RuleRef{{1, 0}}}},
		Symptoms: []Symptom{{Name: "dark", Words: "no light", History: []string{"liquid", "drop"}, Seen: []Observation{
			{Target: light, Wrong: true, Word: "no"}, {Target: rail, Word: "3.3V", Value: 3.3}}}},
		Stages: []Stage{{Number: 1, Words: "rail", Targets: []Target{rail, light}}},
	}
	usual := Condition{Setting: Setting{0}}
	want.Symptoms[0].Readings = []Reading{
		{Text: "LIGHT=no", Probe: Probe{Method: Look, Net: None, Other: None, Part: None, Fact: 0, State: usual},
			Seen: &want.Symptoms[0].Seen[0]},
		{Text: "V=3.3V", Probe: Probe{Net: v, Other: None, Part: None, Fact: None, State: usual}, Value: 3.3},
	}
	if diff := cmp.Diff(want, b, sameModel); diff != "" {
		t.Errorf("board (-want +got):\n%s", diff)
	}
}

func TestReadsFindTheirPart(t *testing.T) {
	// The memory stands below the chip that reads it, and its lines have other
	// names than the chip's.
	b := buildClean(t, "board b \"B\"\nsource U1 vdd=V gnd=G\n  reads ID from=U2 over=C,D when V\n  reads EXT from=J1 over=C,D "+
		"at=XC,XD\nrom U2 vdd=V scl=PC sda=PD gnd=G\nconnector J1\n  pin 1 XC -> YC\n  pin 2 XD -> YD\n")
	var got []string
	for _, line := range model(b) {
		if strings.HasPrefix(line, "  reads") {
			got = append(got, line)
		}
	}
	want := []string{"  reads ID from U2 at PC,PD C,D when V", "  reads EXT from J1 at XC,XD C,D when always"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("reads (-want +got):\n%s", diff)
	}
}

func TestTapsListEveryMeeting(t *testing.T) {
	b := buildClean(t, "board b \"B\"\nfuse F1 A -> B\npoint TP1 B\nfuse F2 B -> C\npoint TP2 B\n")
	id, _ := b.Net("B")
	var got []string
	for _, tap := range b.Taps(id) {
		p := &b.Parts[tap.Part]
		got = append(got, p.Name+"."+p.PinLabel(p.Conns[tap.Conn]))
	}
	if diff := cmp.Diff([]string{"F1.b", "TP1.net", "F2.a", "TP2.net"}, got); diff != "" {
		t.Errorf("taps (-want +got):\n%s", diff)
	}
	var points []string
	for p := range b.Points(id) {
		points = append(points, b.Parts[p].Name)
	}
	if diff := cmp.Diff([]string{"TP1", "TP2"}, points); diff != "" {
		t.Errorf("points (-want +got):\n%s", diff)
	}
}

// TestConditionsPrintWhatTheyMean prints a condition and reads it again.
func TestConditionsPrintWhatTheyMean(t *testing.T) {
	for _, row := range [][2]string{
		{"A", "A"}, {"!A", "!A"}, {"!!A", "!!A"}, {"A & B & C", "A & B & C"}, {"A | B & C", "A | (B & C)"},
		{"(A | B) & C", "(A | B) & C"}, {"!(A & B)", "!(A & B)"}, {"lid=open & !lid=shut", "lid=open & !lid=shut"},
		{"((((A))))", "A"}, {"A|B|C", "A | B | C"},
	} {
		src := func(cond string) string {
			return "board b \"B\"\nstate lid open shut\nnet A,B,C 3V\nsource U1 vdd=A gnd=B\n  makes F when " + cond + "\n"
		}
		b := buildClean(t, src(row[0]))
		text := b.ExprText(b.Parts[0].Rules[0].When)
		if text != row[1] {
			t.Errorf("%q prints as %q, want %q", row[0], text, row[1])
		}
		if diff := cmp.Diff(b, buildClean(t, src(text)), sameModel); diff != "" {
			t.Errorf("%q read again as %q:\n%s", row[0], text, diff)
		}
	}
}
