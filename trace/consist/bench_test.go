package consist

import (
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestParseBench(t *testing.T) {
	c := parseBench(t, `# gates may be written before what feeds them
input(a)
INPUT( b )   # the second
OUTPUT(y)
y = nand(m, b)
m = Xor(a, b, k)
k = NOT(a)
`)
	for _, row := range []struct {
		what      string
		got, want []string
	}{
		{"inputs", c.Inputs(), []string{"a", "b"}},
		{"outputs", c.Outputs(), []string{"y"}},
		{"gates", c.Gates(), []string{"k", "m", "y"}},
	} {
		if diff := cmp.Diff(row.want, row.got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.what, diff)
		}
	}
	got, err := c.Eval(map[string]bool{"a": true, "b": true})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(map[string]bool{"a": true, "b": true, "k": false, "m": false, "y": true}, got); diff != "" {
		t.Errorf("values (-want +got):\n%s", diff)
	}
}

func TestParseBenchRefuses(t *testing.T) {
	for _, row := range []struct{ src, want string }{
		{"INPUT a", `line 1: want INPUT(net), OUTPUT(net) or net = KIND(net, ...), have "INPUT a"`},
		{"INPUT(a) b", `line 1: want INPUT(net), OUTPUT(net) or net = KIND(net, ...), have "INPUT(a) b"`},
		{"\nINOUT(a)", `line 2: unknown statement "INOUT"`},
		{"y = DFF(a)", `line 1: unknown gate "DFF"`},
		{"y = NOT(a, b)", `line 1: NOT takes one net, have 2`},
		{"INPUT(a, b)", `line 1: INPUT takes one net, have 2`},
		{"y = AND(a,)", `line 1: "" is no net name`},
		{" = AND(a, b)", `line 1: "" is no net name`},
		{"INPUT(a)\nINPUT(a)", `line 2: net a is given twice`},
		{"INPUT(a)\na = NOT(a)", `line 2: net a is given twice`},
		{"INPUT(a)\ny = NOT(a)\ny = BUFF(a)", `line 3: net y has two gates`},
		{"y = NOT(a)", `line 1: net a has neither input nor gate`},
		{"y = NOT(y)", `line 1: net y depends on itself`},
		{"INPUT(a)\ny = AND(a, z)\nz = NOT(w)\nw = OR(a, y)", `line 4: net w depends on itself`},
		{"OUTPUT(y)", `line 1: output y has no gate`},
	} {
		if _, err := ParseBench(row.src); err == nil || err.Error() != row.want {
			t.Errorf("%q: %v, want %s", row.src, err, row.want)
		}
	}
}

func TestObserveRefuses(t *testing.T) {
	c := parseBench(t, "INPUT(a)\nINPUT(b)\ny = AND(a, b)\n")
	for _, row := range []struct {
		seen map[string]bool
		want string
	}{
		{map[string]bool{"a": true}, "input b has no value"},
		{map[string]bool{"a": true, "b": true, "z": true, "x": true}, "no net x"},
	} {
		if _, err := c.Observe(row.seen); err == nil || err.Error() != row.want {
			t.Errorf("%v: %v, want %s", row.seen, err, row.want)
		}
	}
}

func TestPredict(t *testing.T) {
	c := chain(t, 3)
	o := observe(t, c, map[string]bool{"a": true, "d": true})
	for _, row := range []struct {
		without      []int
		net          string
		value, known bool
	}{
		{[]int{0}, "b", true, true}, // d=1 needs c=0, that needs b=1
		{[]int{2}, "c", true, true},
		{[]int{0, 2}, "b", false, false},
		{[]int{0, 2}, "d", true, true},
		{nil, "b", false, false}, // nothing given up, and d=1 is wrong
		{[]int{0}, "z", false, false},
	} {
		if v, known := o.Predict(row.without, row.net); v != row.value && row.known || known != row.known {
			t.Errorf("Predict(%v, %s) = %v, %v", row.without, row.net, v, known)
		}
	}
}

func TestParseCases(t *testing.T) {
	got, err := ParseCases("c1\tg\ta=1,b=0\ty=0\n\n")
	if err != nil {
		t.Fatal(err)
	}
	want := []Case{{Circuit: "c1", Injected: "g", Seen: map[string]bool{"a": true, "b": false, "y": false}}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	for _, row := range []struct{ src, want string }{
		{"c1\tg\ta=1", "line 1: want 4 fields, have 3"},
		{"\nc1\tg\ta=2\ty=1", `line 2: want net=0 or net=1, have "a=2"`},
		{"c1\tg\ta\ty=1", `line 1: want net=0 or net=1, have "a"`},
		{"c1\tg\ta=1\ta=0", "line 1: net a is both 0 and 1"},
	} {
		if _, err := ParseCases(row.src); err == nil || err.Error() != row.want {
			t.Errorf("%q: %v, want %s", row.src, err, row.want)
		}
	}
}

// FuzzParseBench: what parses is a circuit in order, that shows its own values.
func FuzzParseBench(f *testing.F) {
	for _, name := range []string{"c17.bench", "c432.bench"} {
		src, err := os.ReadFile("../../testdata/c432/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(src), false)
	}
	f.Add(fullAdder, true)
	f.Add("y = AND(a, z)\nz = NOT(w)\nw = OR(a, y)", true)
	f.Add("INPUT(a)\ny = XNOR(a, a, a)\nOUTPUT(y)\nOUTPUT(a)", true)
	f.Fuzz(func(t *testing.T, src string, input bool) {
		c, err := ParseBench(src)
		if err != nil {
			return
		}
		for g, gate := range c.gates {
			if len(gate.in) == 0 || slices.Max(gate.in) >= c.inputs+g {
				t.Fatalf("gate %d is fed by %v", g, gate.in)
			}
		}
		seen := map[string]bool{}
		for _, name := range c.Inputs() {
			seen[name] = input
		}
		values, err := c.Eval(seen)
		if err != nil {
			t.Fatal(err)
		}
		o, err := c.Observe(values)
		if err != nil {
			t.Fatal(err)
		}
		if !o.Consistent(nil) {
			t.Fatal("a healthy circuit contradicts itself")
		}
		gates := c.Gates()
		if len(gates) == 0 || len(gates) > 200 {
			return
		}
		last := gates[len(gates)-1]
		wrong := maps.Clone(values)
		wrong[last] = !wrong[last]
		o, err = c.Observe(wrong)
		if err != nil {
			t.Fatal(err)
		}
		// All nets are seen, and the last gate feeds no other.
		if got := Diagnoses(o, 2); !slices.EqualFunc(got, [][]int{{len(gates) - 1}}, slices.Equal) {
			t.Fatalf("%s is wrong, found %v", last, got)
		}
	})
}

// FuzzParseCases: what parses has a value for each net that it names.
func FuzzParseCases(f *testing.F) {
	src, err := os.ReadFile("../../testdata/c432/cases-1-5.txt")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(src))
	f.Add("c1\tg\ta=1\ty=0\r\n\n")
	f.Fuzz(func(t *testing.T, src string) {
		cases, err := ParseCases(src)
		if err != nil {
			return
		}
		for _, c := range cases {
			if len(c.Seen) == 0 || len(c.Seen) > strings.Count(src, "=") {
				t.Fatalf("%d nets seen in %q", len(c.Seen), src)
			}
		}
	})
}
