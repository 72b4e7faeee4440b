package predict_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/predict"
)

var updateNgspice = flag.Bool("update-ngspice", false, "have ngspice solve the decks of the demo boards anew")

const (
	networksFile = "../../testdata/ngspice/networks.json" // made by gen.py beside it
	demosFile    = "../../testdata/ngspice/demos.json"    // made by -update-ngspice
)

// recorded is what stands in the first line of a recording; one line a case follows.
type recorded struct {
	Ngspice   string         `json:"ngspice"`
	Command   string         `json:"command"`
	Options   string         `json:"options,omitempty"`
	Seed      int            `json:"seed,omitempty"`
	Converged map[string]int `json:"converged"`
	Unsteady  int            `json:"unsteady,omitempty"`
}

type networkCase struct {
	Board string             `json:"board"`
	Blown []string           `json:"blown"`
	Volts map[string]float64 `json:"volts"` // missing when ngspice did not converge
}

type demoCase struct {
	Board string    `json:"board"`
	State string    `json:"state"`
	Fault string    `json:"fault"`
	Volts []float64 `json:"volts"` // in the order of the board's nets, ground 0
}

func readRecording[T any](t *testing.T, path string) (recorded, []T) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var head recorded
	var list []T
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 1<<20)
	for n := 0; lines.Scan(); n++ {
		var c T
		var into any = &c
		if n == 0 {
			into = &head
		}
		if err := json.Unmarshal(lines.Bytes(), into); err != nil {
			t.Fatalf("%s:%d: %v", path, n+1, err)
		}
		if n > 0 {
			list = append(list, c)
		}
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	if head.Ngspice != "ngspice-39" {
		t.Errorf("%s was made with %s; put the version right here and in README.md", path, head.Ngspice)
	}
	return head, list
}

func readBoard(t *testing.T, name, src string) *netlist.Board {
	t.Helper()
	b, problems := netlist.Read(name+".board", src)
	for _, p := range problems {
		if p.Severity == mistake.Error {
			t.Fatal(p.Report())
		}
	}
	return b
}

// agree reports whether a level is the one that ngspice found. Both solve the same
// piecewise-linear equations in double precision, so what is allowed is rounding:
//   - the recording keeps ten digits and 1 nV;
//   - ngspice stops at RELTOL 1e-8;
//   - a source at its limit stands in the decks as its level less 1e9 ohm times what
//     exceeds the limit, and the current at a node with 50 S (a fuse of 20 mohm) and
//     15 V is rounded at 1e-16 * 50 S * 15 V: 0.1 mV;
//   - ngspice factors the matrix with its diagonal summed, which loses what is 1e-16
//     of the largest conductance at a node, 1e3 S here. Beside 0.1 uS and more, which
//     hold a net that does not float, that is 1e-6 of its voltage; beside the leaks of 0.1 to
//     1 nS, which are all that holds a floating one, it is 1e-3.
func agree(r *predict.Run, n netlist.NetID, want float64) bool {
	share := 1e-6
	if r.Floats(n) {
		share = 1e-3
	}
	least := 2e-9
	if slices.ContainsFunc(r.Regimes(), func(x predict.Regime) bool { return x.Text == "current limit" }) {
		least = 1e-4
	}
	return math.Abs(r.Level(n)-want) <= least+share*math.Abs(want)
}

// TestLevelsAgreeWithNgspice compares levels and blown fuses on random networks
// with those that ngspice 39 finds for decks that gen.py makes of them without
// walkback.
func TestLevelsAgreeWithNgspice(t *testing.T) {
	head, list := readRecording[networkCase](t, networksFile)
	compared, nets, wrong, unsteady := 0, 0, 0, 0
	for k, c := range list {
		if c.Volts == nil {
			continue
		}
		b := readBoard(t, fmt.Sprint("network", k), c.Board)
		m := predict.New(b)
		r := m.Run(netlist.Condition{Setting: b.Usual()}, predict.Hypothesis{})
		if len(r.Unsteady()) > 0 {
			unsteady++
			t.Logf("network %d: does not come to rest", k)
			continue
		}
		compared++
		blown := []string{}
		for _, x := range r.Blew() {
			blown = append(blown, b.Parts[x.Part].Name)
		}
		bad := !cmp.Equal(blown, c.Blown)
		var text strings.Builder
		for i := range b.Nets {
			if b.Nets[i].Ground {
				continue
			}
			want, ok := c.Volts[b.Nets[i].Name]
			if !ok {
				t.Fatalf("network %d: no voltage recorded for %s", k, b.Nets[i].Name)
			}
			nets++
			if !agree(r, netlist.NetID(i), want) {
				bad = true
				fmt.Fprintf(&text, "  %s: %.9g V, ngspice has %.9g V, %.3g ohm\n", b.Nets[i].Name, r.Level(netlist.NetID(i)), want,
					r.Ohms(netlist.NetID(i)))
			}
		}
		if bad {
			if wrong++; wrong <= 5 {
				t.Errorf("network %d, blown %v, with ngspice %v:\n%s%s", k, blown, c.Blown, text.String(), c.Board)
			}
		}
	}
	if compared < 300 {
		t.Errorf("only %d networks compared, want 300", compared)
	}
	// A regulator on a source that cannot feed it: ngspice finds where drop-out and
	// draw meet, and the simulation swings about that point.
	if unsteady > len(list)/40 {
		t.Errorf("%d of %d networks do not come to rest, want at most one in 40", unsteady, len(list))
	}
	if none := head.Converged["none"]; none > len(list)/10 {
		t.Errorf("ngspice did not converge on %d of %d networks, want at most one in ten", none, len(list))
	}
	t.Logf("%d networks with %d nets compared, %d wrong, %d unsteady, %d on which ngspice did not converge", compared, nets, wrong, unsteady,
		head.Converged["none"])
}

// demoCases picks, for each demo board, twenty faults in each of three states: a
// fixed stride through all faults of each effect in turn, so that every effect
// that the board's parts can have is there before any comes twice.
func demoCases(t *testing.T, each func(c demoCase, b *netlist.Board, r *predict.Run)) (unsteady int) {
	t.Helper()
	for _, name := range boards.Names() {
		src, _ := boards.Source(name)
		b := readBoard(t, name, src)
		m := predict.New(b)
		states := slices.Collect(predict.States(b))
		for k, st := range pickStates(states) {
			kinds := map[string][]predict.Fault{}
			var order []string
			for _, f := range m.AllFaults() {
				key := b.Parts[f.Part].Kind.Name + " " + f.Mode.Name
				if kinds[key] == nil {
					order = append(order, key)
				}
				kinds[key] = append(kinds[key], f)
			}
			for done, i := 0, 0; done < 20; i++ {
				// 20 of the kinds in each state, others in each; of each kind another fault.
				list := kinds[order[(i*7+k*53)%len(order)]]
				f := list[(i*5+k*11)%len(list)]
				r := m.Run(st, m.Suppose(f))
				if len(r.Unsteady()) > 0 {
					unsteady++
					if err := r.WriteSPICE(&bytes.Buffer{}); !errors.Is(err, predict.ErrUnsteady) {
						t.Errorf("%s %s: the error is %v", name, m.Name(f), err)
					}
					continue
				}
				done++
				each(demoCase{Board: name, State: b.SettingText(st.Setting), Fault: m.Name(f)}, b, r)
			}
		}
	}
	return unsteady
}

// pickStates takes the usual state, one from the middle and the last.
func pickStates(list []netlist.Condition) []netlist.Condition {
	return []netlist.Condition{list[0], list[len(list)/2], list[len(list)-1]}
}

// TestDemoDecksAgreeWithNgspice compares the levels on the demo boards with those
// that ngspice 39 finds for the decks of WriteSPICE.
func TestDemoDecksAgreeWithNgspice(t *testing.T) {
	if *updateNgspice {
		recordDemos(t)
	}
	_, list := readRecording[demoCase](t, demosFile)
	k, wrong := 0, 0
	demoCases(t, func(c demoCase, b *netlist.Board, r *predict.Run) {
		if k >= len(list) {
			k++
			return
		}
		want := list[k]
		k++
		c.Volts = want.Volts
		if diff := cmp.Diff(want, c); diff != "" {
			t.Fatalf("recorded for another case; run with -update-ngspice where ngspice is (-recorded +now):\n%s", diff)
		}
		if want.Volts == nil {
			return // counted below
		}
		if len(want.Volts) != len(b.Nets) {
			t.Fatalf("%s has %d nets and %d voltages are recorded; run with -update-ngspice", c.Board, len(b.Nets), len(want.Volts))
		}
		var text strings.Builder
		for i, v := range want.Volts {
			if !agree(r, netlist.NetID(i), v) {
				fmt.Fprintf(&text, "  %s: %.9g V, ngspice has %.9g V, %.3g ohm\n", b.Nets[i].Name, r.Level(netlist.NetID(i)), v,
					r.Ohms(netlist.NetID(i)))
			}
		}
		if text.Len() > 0 {
			if wrong++; wrong <= 10 {
				t.Errorf("%s, %s, %s:\n%s", c.Board, c.State, c.Fault, text.String())
			}
		}
	})
	if k != len(list) || k != 180 {
		t.Errorf("%d cases, recorded %d, want 180", k, len(list))
	}
	none := 0
	for _, c := range list {
		if c.Volts == nil {
			none++
		}
	}
	if none > 9 {
		t.Errorf("ngspice did not converge on %d of %d, want at most one in twenty", none, len(list))
	}
	t.Logf("%d cases compared, %d wrong, %d on which ngspice did not converge", k-none, wrong, none)
}

// TestDeckText looks at a deck itself: the same each time, with its state, its
// faults and every net in the comments, and with no name twice in it, since SPICE
// takes capitals for small letters and some names for ground.
func TestDeckText(t *testing.T) {
	const src = `board names
state power on off
net GND ground
net gnd0 3.3V
net Gnd0 3.3V
net V+ 5V
net V- 5V
supply PS1 -> V+ limit=1A
supply PS2 -> gnd0
regulator U1 in=V+ out=Gnd0 gnd=GND
resistor R1 V+ -> V- 1k
nfet Q1 V- -> GND gate=gnd0
fuse F1 V+ -> OUT rating=100mA
resistor R2 OUT -> GND 1
`
	b := readBoard(t, "names", src)
	m := predict.New(b)
	faults, err := m.ParseFault("Q1:weak")
	if err != nil {
		t.Fatal(err)
	}
	r := m.Run(netlist.Condition{Setting: b.Usual()}, m.Suppose(faults...))
	var deck, again bytes.Buffer
	if err := errors.Join(r.WriteSPICE(&deck), r.WriteSPICE(&again)); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(deck.String(), again.String()); diff != "" {
		t.Errorf("two decks of one run differ:\n%s", diff)
	}
	for _, want := range []string{"* Board names", "* State: power=on", "* Fault: Q1:weak", "* F1 is open"} {
		if !strings.Contains(deck.String(), "\n"+want) && !strings.HasPrefix(deck.String(), want) {
			t.Errorf("the deck says nothing of %q:\n%s", want, deck.String())
		}
	}
	var nets []string
	nodes := map[string]bool{"gnd": true}
	for _, x := range named.FindAllStringSubmatch(deck.String(), -1) {
		nets = append(nets, x[2])
		if nodes[x[1]] {
			t.Errorf("the node %s stands for two nets", x[1])
		}
		nodes[x[1]] = true
	}
	if diff := cmp.Diff([]string{"gnd0", "Gnd0", "V+", "V-", "OUT"}, nets); diff != "" {
		t.Errorf("nets (-want +got):\n%s", diff)
	}
	elements := map[string]bool{}
	for _, x := range regexp.MustCompile(`(?m)^[A-Z]\w+ `).FindAllString(deck.String(), -1) {
		if x = strings.ToLower(x); elements[x] {
			t.Errorf("two elements are called %s", x)
		}
		elements[x] = true
	}
}

var printed = regexp.MustCompile(`(?m)^v\((\w+)\) = (\S+)$`)

// ngspice solves a deck and returns what it prints by node; nil when it does not converge.
func ngspice(t *testing.T, deck []byte) map[string]float64 {
	t.Helper()
	path := filepath.Join(t.TempDir(), "deck.cir")
	// No transient when all else fails: without capacitors it leads nowhere, slowly.
	deck = bytes.Replace(deck, []byte("\nop\n"), []byte("\noptran 1 1 1 0 0 0\nop\n"), 1)
	if err := os.WriteFile(path, deck, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("timeout", "1", "ngspice", "-b", path).CombinedOutput()
	if len(out) == 0 {
		t.Fatalf("ngspice: %v", err)
	}
	if bytes.Contains(out, []byte("simulation(s) aborted")) || bytes.Contains(out, []byte("simulation interrupted")) {
		return nil
	}
	found := map[string]float64{}
	for _, m := range printed.FindAllStringSubmatch(string(out), -1) {
		v, err := strconv.ParseFloat(m[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		found[m[1]] = v
	}
	if len(found) == 0 {
		return nil // its time was up
	}
	return found
}

var nodeset = regexp.MustCompile(`(?m)^\.nodeset .*\n`)

var named = regexp.MustCompile(`(?m)^\*   (n_\w+) = (.+)$`)

func recordDemos(t *testing.T) {
	version, err := exec.Command("ngspice", "--version").Output()
	if err != nil {
		t.Fatal(err)
	}
	head := recorded{Ngspice: string(regexp.MustCompile(`ngspice-[\w.+]+`).Find(version)), Command: "ngspice -b DECK",
		Converged: map[string]int{}}
	var lines bytes.Buffer
	enc := json.NewEncoder(&lines)
	head.Unsteady = demoCases(t, func(c demoCase, b *netlist.Board, r *predict.Run) {
		var deck bytes.Buffer
		if err := r.WriteSPICE(&deck); err != nil {
			t.Fatal(err)
		}
		how := "from 0 V"
		found := ngspice(t, nodeset.ReplaceAll(deck.Bytes(), nil))
		if found == nil {
			how = "from nodeset"
			found = ngspice(t, deck.Bytes())
		}
		if found == nil {
			head.Converged["none"]++
		} else {
			head.Converged[how]++
			node := map[string]string{}
			for _, m := range named.FindAllStringSubmatch(deck.String(), -1) {
				node[m[2]] = m[1]
			}
			for _, n := range b.Nets {
				if v, ok := found[node[n.Name]]; ok {
					c.Volts = append(c.Volts, short(v))
				} else if n.Ground {
					c.Volts = append(c.Volts, 0)
				} else {
					t.Fatalf("%s: ngspice printed no %s", c.Fault, n.Name)
				}
			}
		}
		if err := enc.Encode(c); err != nil {
			t.Fatal(err)
		}
	})
	first, err := json.Marshal(head)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(demosFile, append(append(first, '\n'), lines.Bytes()...), 0o644); err != nil {
		t.Fatal(err)
	}
}

// short keeps ten digits and 1 nV.
func short(v float64) float64 {
	v, _ = strconv.ParseFloat(strconv.FormatFloat(math.Round(v*1e9)/1e9, 'g', 10, 64), 64)
	return v
}
