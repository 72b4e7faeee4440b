package netlist

import (
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
)

// head begins the boards of the problem table; it is sound in itself.
const head = "board b \"B\"\nstate lid open shut\nnet G ground\nsupply PS1 -> V\ncapacitor C1 V -> G 1u\n"

// problemRow is a text with one problem. The words that the report must point
// at stand between « and », which are taken out before the text is read.
type problemRow struct {
	src  string
	code string
	says string // part of the message, of what was expected or of the suggestion
}

// place takes the marks out of a text and tells where they were.
func place(t *testing.T, src string) (clean string, line, col, width int) {
	t.Helper()
	before, rest, ok := strings.Cut(src, "«")
	inside, after, ok2 := strings.Cut(rest, "»")
	if !ok || !ok2 {
		t.Fatalf("no marks in %q", src)
	}
	line = strings.Count(before, "\n") + 1
	col = utf8.RuneCountInString(strings.TrimPrefix(before[strings.LastIndexByte(before, '\n')+1:], bom)) + 1
	return before + inside + after, line, col, utf8.RuneCountInString(inside)
}

var syntaxProblems = []problemRow{
	{"net A«\x01» 3V", "bad-character", "0x01"},
	{"net A 3V # «\xff»", "bad-character", "UTF-8"},
	{"board b \"a«\x02»b\"", "bad-character", "UTF-8"},
	{"net A «\x7f»3V", "bad-character", "0x7f"},
	{"net A«\u200b» 3V", "bad-character", "U+200B"},
	{"net A«\u202e»B 3V", "bad-character", "seen as it is"},
	{"net A 3V # no «\u2066»comment", "bad-character", "U+2066"},
	{"board b \"a«\u009b»31m\"", "bad-character", "U+009B"},
	{"board b \"a«\u2028»b\"", "bad-character", "U+2028"},
	{"net A«\u00ad»", "bad-character", "U+00AD"},
	{"net A«\u00a0»B 3V", "syntax", "where a word should"},
	{head + "state «l\u0456d» a b", "look-alike", "l\u0456d looks like lid and is another name: l<0456>d is not lid"},
	{head + "state «\u0412\u0430\u04400x» a b", "look-alike", "two alphabets, Latin and Cyrillic"},
	{"fuse F1 A «→» B", "arrow", "->"},
	{"fuse F1 A «=>» B", "arrow", "->"},
	{"fuse F1 A «<-» B", "arrow", "->"},
	{"fuse F1 A«→»B", "arrow", "->"},
	{"fuse F1 A -> B rating=«→»", "syntax", "where a word should"},
	{"net «\uFEFF»A 3V", "bad-character", "U+FEFF"},
	{"net A«\uFEFF» 3V", "bad-character", "U+FEFF"},
	{"«=»3A", "syntax", "nothing before it"},
	{"fuse F1 A -> «,»C", "syntax", "nothing before it"},
	{"fuse F1 «A,B»= C", "syntax", "not a list"},
	{"fuse F1 «K1..K2»=C", "syntax", "not a list"},
	{"fuse F1 «@7»=C", "syntax", "en@7=BL_EN"},
	{"fuse F1 «en@»=C", "syntax", "en@7=BL_EN"},
	{"fuse F1 A -> B rating«=»", "syntax", "missing at the end"},
	{"fuse F1 A«,»", "syntax", "missing at the end"},
	{"leds D1 A -> K1.«.»", "syntax", "missing at the end"},
	{"leds D1 A -> K1 «.». K4", "syntax", "where a word should"}, // a word may end in a point
	{"fuse F1 A -> B rating= «>»3A", "syntax", "does not begin with >"},
	{"fuse F1 A,«|»B", "syntax", "where a word should"},
	{"fuse F1 A,«,»B", "syntax", "where a word should"},
	{"fuse F1 rating=«=»3A", "syntax", "where a word should"},
	{"fuse F1 A -> B «\"no end»", "quote", "closing quote"},
	{"fuse F1 A -> B «\"no end\\\"»", "quote", "closing quote"},
	{"«    fuse F1 A -> B»", "indent", "statement above"},
	{"# remark\n«  side=top»", "indent", "left edge"},
	{bom + "fuse F1 A «→» B", "arrow", "->"}, // the mark is no column
}

var statementProblems = []problemRow{
	{head + "«\"fuse\"» F1", "statement", "begins with the kind"},
	{head + "«->» F1", "statement", "begins with the kind"},
	{head + "«a,b» F1", "statement", "begins with the kind"},
	{head + "«fues» F1 A -> B", "unknown-kind", "fuse"},
	{head + "«inductor» L1 A -> B", "unknown-kind", "coil"},
	{head + "«LDO» U1 in=A", "unknown-kind", "regulator"},
	{head + "«drives» A", "unknown-kind", "unknown word"},
	{head + "ne«t»", "missing-name", "net needs a name"},
	{head + "fus«e»", "missing-name", "no designator"},
	{head + "fuse «->» B", "missing-name", "no designator"},
	{head + "fuse «F1,F2» A -> B", "missing-name", "no designator"},
	{head + "lane P A B\n  «pin» 1 A", "rule-place", "under lane"},
	{head + "fuse F1 V -> B\n  «pin» 1 V", "rule-place", "no rule under this kind"},
	{head + "connector J1 V -> B\n  «drives» B", "rule-place", "one of pin"},
	{head + "net A 3V\n  «drives» B", "rule-place", "under a net"},
	{head + "«board» b2 \"C\"", "duplicate", "one board"},
	{"board «\"B\"»", "name", "one word"},
	{"board b \"B\" «\"C\"»", "syntax", "a name and a title"},
	{"board b «word»", "syntax", "a name and a title"},
	{head + "state x a «a» b", "duplicate", "stands twice"},
	{head + "state «\"x\"» a b", "syntax", "each one word"},
	{head + "state x a «b=c»", "syntax", "each one word"},
	{head + "state x «a»", "state-values", "fewer than two"},
	{head + "state «lid» a b", "duplicate", "declared twice"},
	{head + "net «\"A\"» 3V", "name", "one word"},
	{head + "net «drives» 3V", "name", "cannot name a net"},
	{head + "fuse F1 V -> «when»", "name", "cannot name a net"},
	{head + "fuse F1 V -> A,«\"B\"»", "name", "not written in quotes"},
	{head + "net A 3V\nnet «A» 5V", "duplicate", "line 6 too"},
	{head + "net A «ground» 3V", "net-value", "ground"},
	{head + "net A 3V «200%»", "tolerance", "share of its voltage"},
	{head + "net A 3V «-5%»", "tolerance", "share of its voltage"},
	{head + "net «A»\n  expect 0V when lid=shut", "net-value", "none for the others"},
	{head + "net A 3V «4V»", "syntax", "not expected on a net line"},
	{head + "net A 3V «->»", "syntax", "not expected on a net line"},
	{head + "net A «3,3V»", "syntax", "not expected on a net line"},
	{head + "net A «3A»", "value", "it is in A"},
	{head + "net A 3V «x%»", "value", "percentage"},
	{head + "net A 3V «swing=1V,2V»", "syntax", "one value"},
	{head + "net A 3V swing=«5Hz»", "value", "it is in Hz"},
	{head + "net A 3V «swng»=1V", "unknown-attribute", "swing"},
	{head + "net A 3V\n  expect 0«V»", "syntax", "when STATE=VALUE"},
	{head + "net A 3V\n  expect 0V whe«n»", "syntax", "when STATE=VALUE"},
	{head + "net A 3V\n  «expect» when lid=shut", "value", "value to expect"},
	{head + "net A 3V\n  expect 0V when «V»", "condition", "states alone"},
	{head + "net A 3V\n  expect 0V when «!»lid=shut", "condition", "states alone"},
	{head + "net A 3V\n  expect 0V when lid=shut «&»", "condition", "stops too early"},
	{head + "net A 3V\n  expect 0V when «|» lid=shut", "condition", "not expected here"},
	{head + "net A 3V\n  expect 0V when lid=shut | «|» lid=open", "condition", "not expected here"},
	{head + "net A 3V\n  expect 0V when lid=shut «lid=open»", "condition", "joined by & or |"},
	{head + "net A 3V\n  expect 0V when «ild»=shut", "observation", "lid"},
	{head + "net A 3V\n  expect 0V when lid=«shot»", "observation", "shut"},
	{head + "lane «\"P\"» A", "name", "one word"},
	{head + "lane P A «x=y»", "syntax", "not expected on a lane line"},
	{head + "lane «P»", "lane-nets", "0 nets"},
	{head + "lane P A B «C»", "lane-nets", "3 nets"},
	{head + "net A 3V\nlane «A» V V", "duplicate", "taken"},
	{head + "lane «A» V G2\nnet A 3V", "duplicate", "taken by a net"},
	{head + "panel DS1 vdd=V\n  makes «V»", "duplicate", "taken"},
	{head + "panel DS1 vdd=V\n  makes «Z»\nnet Z 3V", "duplicate", "taken by a net"},
	{head + "stage «one» \"x\" V", "stage-number", "not a stage number"},
	{head + "stage «3» \"x\"", "stage-empty", "nothing that proves it"},
	{head + "stage «-1» \"x\" V", "stage-number", "not a stage number"},
	{head + "stage «\"x\"» V", "name", "one word"},
	{head + "weight «fuze» 2", "weight", "no kind or part is called"},
	{head + "weight «fuse:opne» 2", "weight", "does not fail by"},
	{head + "weight fuse «0»", "weight", "is not a factor"},
	{head + "weight fuse «2k»", "weight", "is not a factor"},
	{head + "weight fuse:ope«n»", "weight", "one name and one factor"},
	{head + "resistor R1 V -> G 1k weight=«1001»", "weight", "is not a weight"},
	{head + "net VMAIN 3V\nstage 1 \"x\" «VMIAN»", "unknown-name", "VMAIN"},
	{head + "stage 1 \"x\" «->» V", "syntax", "not expected on a stage line"},
	{head + "stage 1 \"x\" V\nstage «1» \"y\" V", "duplicate", "stands twice"},
	{head + "symptom «\"x\"» V=0V", "name", "one word"},
	{head + "symptom dark «V»", "syntax", "not an observation"},
	{head + "net V 3V\nsymptom dark «licuid» V=0V", "history", "liquid"},
	{head + "net V 3V\nsymptom dark liquid V=0V «liquid»", "duplicate", "stands twice"},
	{head + "net V 3V\nsymptom dark V=«0V,1V»", "observation", "not understood"},
	{head + "net V 3V\nsymptom dark V=«0,1V»", "observation", "comma"},
	{head + "net V 3V\nsymptom dark «V=0V..1V»", "syntax", "one word seen"},
	{head + "net V 3V\nsymptom dark \"x\" V=0V «V@3=ok»", "syntax", "one word seen"},
	{head + "net V 3V\nsymptom dark V=«qiet»", "observation", "quiet"},
	{head + "net VMAIN 3V\nsymptom dark «VMIAN»=0V", "observation", "VMAIN"},
	{head + "symptom dark «PS1»=0V", "observation", "is a part"},
	{head + "symptom dark «G»=0V", "observation", "ground"},
	{head + "net V 3V\nsymptom «dark» V=ok", "symptom", "nothing wrong"},
	{head + "net V 3V\nsymptom dark V=0V\nsymptom «dark» V=0V", "duplicate", "stands twice"},
}

var partProblems = []problemRow{
	{head + "fuse F1 V -> A\nfuse «F1» A -> B", "duplicate", "line 6 too"},
	{head + "fuse F1 V -> A «->» B", "syntax", "second arrow"},
	{head + "fuse F1 V -> A «&»", "syntax", "not expected here"},
	{head + "fuse F1 V -> A «B»", "syntax", "KEY=VALUE"},
	{head + "regulator U1 «V» in=V out=A", "syntax", "KEY=VALUE"},
	{head + "point «TP1» V -> A", "pins", "sits on one net"},
	{head + "supply «PS2» V", "pins", "an arrow leads"},
	{head + "fuse «F1» V A", "pins", "each side of the arrow"},
	{head + "fuse «F1» V A -> B", "pins", "each side of the arrow"},
	{head + "regulator «U1» in=V out=A ->", "pins", "by name"},
	{head + "choke FL1 V,A -> «B»", "list-length", "2 nets on the left"},
	{head + "leds DS1 V,A -> «K1..K3»", "list-length", "2 nets on the left"},
	{head + "diode D1 V,A -> «B,C»", "list-length", "one net on each side"},
	{head + "regulator U1 in=V «out=A,B»", "list-length", "takes one net"},
	{head + "mux «U1» a=A1,A2 b=B1 out=O1,O2 sel=V vdd=V", "list-length", "1 nets on b"},
	{head + "fuse F1 V -> «V»", "self-short", "both sides"},
	{head + "regulator «U1» in=W out=W", "self-short", "two of its pins"},
	{head + "regulator U1 in=V «in»=A out=B", "duplicate", "written twice"},
	{head + "fuse F1 V -> A rating=2A «rating»=3A", "duplicate", "written twice"},
	{head + "resistor R1 V -> A 1k «2k»", "duplicate", "written twice"},
	{head + "fuse F1 V -> A «rating=2A,3A»", "syntax", "takes one value"},
	{head + "fuse F1 V -> A rating@«3»=2A", "syntax", "no pin"},
	{head + "fuse F1 V -> A «ratng»=2A", "unknown-attribute", "rating"},
	{head + "fuse F1 V -> A «a»=B", "unknown-attribute", "no pin or attribute"},
	{head + "fuse F1 V -> A rating=«2V»", "value", "it is in V"},
	{head + "fuse F1 V -> A rating=«\"2V\"»", "value", "it is in V"},
	{head + "fuse F1 V -> A rating=«-2A»", "value", "negative"},
	{head + "fuse F1 V -> A side=«tpo»", "value", "top"},
	{head + "fuse F1 V -> A side=«\"tpo\"»", "value", "top"},
	{head + "resistor R1 V -> A «x7»", "value", "resistance"},
	{head + "regulator «U1» in=V", "missing-pin", "out pin"},
	{head + "nfet «Q1» A -> G", "missing-pin", "gate pin"},
	{head + "rom U1 vdd=V scl@3=«\"x\"» sda=D", "name", "not written in quotes"},
	{head + "leds DS1 V -> «K1..K9999»", "range", "more than 4096"},
	{head + "leds DS1 V -> «K4..K1»", "range", "count upwards"},
	{head + "leds DS1 V -> «K1..L4»", "range", "K1..K4"},
	{head + "leds DS1 V -> «KA..KB»", "range", "K1..K4"},
	{head + "leds DS1 V -> A1..A4096,«B1..B2»", "range", "in one list"},
	{head + "connector J1\n  «pin» 1", "pin-row", "pin NUMBER NET -> NET"},
	{head + "connector J1\n  «pin» 1 A B", "pin-row", "pin NUMBER NET -> NET"},
	{head + "connector J1\n  «pin» 1 A -> B C", "pin-row", "pin NUMBER NET -> NET"},
	{head + "connector J1\n  pin «1,2» A -> B", "pin-row", "one number"},
	{head + "connector J1\n  pin 1 A,B -> «C,D»", "pin-row", "one net on each side"},
	{head + "connector J1\n  pin 1 «A,B»", "pin-row", "one net on each side"},
	{head + "connector J1\n  pin 1 A -> B\n  pin «1» C -> D", "duplicate", "two pins 1"},
	{head + "connector J1 K1..K4096 -> L1..L4096\n  «pin» 1 V -> B", "pins", "at most 4096"},
}

var ruleProblems = []problemRow{
	{head + "source U1 vdd=V\n  drives A «when»", "condition", "after when is missing"},
	{head + "source U1 vdd=V\n  «drives» when V", "syntax", "names no net"},
	{head + "source U1 vdd=V\n  drives «x=y»", "syntax", "not expected here"},
	{head + "source U1 vdd=V\n  drives A «3.3V»", "syntax", "net A 3.3V"},
	{head + "source U1 vdd=V\n  «makes»", "syntax", "names no fact"},
	{head + "source U1 vdd=V\n  makes «\"F\"»", "name", "one word"},
	{head + "source U1 vdd=V\n  makes F «G»", "syntax", "not expected here"},
	{head + "source U1 vdd=V\n  reads F «form=U2» over=A,B", "syntax", "from"},
	{head + "source U1 vdd=V\n  reads F «from=U2,U3» over=A,B", "syntax", "not expected here"},
	{head + "source U1 vdd=V\n  «reads» F over=A,B", "syntax", "part that is read"},
	{head + "source U1 vdd=V\n  reads F from=«U20» over=A,B\nrom U2 vdd=V scl=A sda=B", "unknown-part", "U2"},
	{head + "source U1 vdd=V\n  reads F from=«U2» over=A\nrom U2 vdd=V scl=A sda=B", "unreadable", "at="},
	{head + "source U1 vdd=V\n  makes F when A «B»\nnet A,B 3V", "condition", "& or | between"},
	{head + "source U1 vdd=V\n  makes F when V «&»", "condition", "stops too early"},
	{head + "source U1 vdd=V\n  makes F when «(»V", "condition", "not closed"},
	{head + "source U1 vdd=V\n  makes F when V «)»", "condition", "not expected here"},
	{head + "source U1 vdd=V\n  makes F when «\"V\"»", "condition", "a net, a lane, a fact"},
	{head + "source U1 vdd=V\n  makes F when «lid=open,shut»", "condition", "one value"},
	{head + "source U1 vdd=V\n  makes F when lid=«ope»", "observation", "open"},
	{head + "net VMAIN 3V\nsource U1 vdd=V\n  makes F when «VMIAN»", "unknown-name", "VMAIN"},
	{head + "source U1 vdd=V\n  makes F when " + strings.Repeat("(", 64) + "«(»V" + strings.Repeat(")", 65), "nesting", "64"},
	{head + "source U1 vdd=V\n  makes F when " + strings.Repeat("!", 64) + "«!»V", "nesting", "64"},
}

var checkProblems = []problemRow{
	{head + "fuse «Q1» V -> A", "designator", "F and a number"},
	{head + "fuse «F» V -> A", "designator", "unusual designator"},
	{head + "resistor «R1» V -> A", "no-value", "usual one"},
	{head + "panel DS1 vdd=«G»", "supply-grounded", "vdd"},
	{head + "net V 3V\npanel DS1 vdd=V gnd=«V»", "ground-pin", "not ground"},
	{head + "regulator U1 in=V out=«G»", "output-grounded", "out"},
	{head + "net «ALONE» 3V", "dangling", "nothing is joined"},
	{head + "fuse F1 V -> «B»", "dangling", "one pin only"},
	{head + "fuse F1 V -> RAIL_X\nfuse F2 V -> RAIL_X\nfuse F3 V -> «RIAL_X»", "dangling", "RAIL_X"},
	{head + "regulator U1 in=V out=«X»\nregulator U2 in=V out=X", "two-drivers", "U1, U2"},
	{head + "source U1 vdd=V\n  drives «X»\nand U2 in=V out=X vdd=V", "two-drivers", "U1, U2"},
	{head + "lane «P» G A", "lane-nets", "ground as a conductor"},
}

func TestProblems(t *testing.T) {
	for name, rows := range problemTables {
		for _, row := range rows {
			t.Run(name+"/"+row.code, func(t *testing.T) {
				src, line, col, width := place(t, row.src)
				_, problems := Read("test.board", src)
				var found []mistake.Mistake
				for _, p := range problems {
					if p.Code == row.code {
						found = append(found, p)
					} else if p.Severity == mistake.Error {
						t.Errorf("%q has another error:\n%s", row.src, p.Report())
					}
				}
				if len(found) == 0 {
					t.Fatalf("%q has no problem %s", row.src, row.code)
				}
				p := found[0]
				type at struct{ Line, Column, Width int }
				if diff := cmp.Diff(at{line, col, max(width, 1)}, at{p.Line, p.Column, p.Width}); diff != "" {
					t.Errorf("%q (-want +got):\n%s%s", row.src, diff, p.Report())
				}
				if !strings.Contains(p.Msg+"\n"+p.Want+"\n"+p.Near, row.says) {
					t.Errorf("%q does not say %q:\n%s", row.src, row.says, p.Report())
				}
			})
		}
	}
}

var problemTables = map[string][]problemRow{
	"syntax": syntaxProblems, "statement": statementProblems, "part": partProblems, "rule": ruleProblems, "check": checkProblems,
}
