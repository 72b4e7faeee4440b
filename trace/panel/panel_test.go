package panel

import (
	"errors"
	"io/fs"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/panel/link"
)

func demo(t *testing.T, name string) *netlist.Board {
	t.Helper()
	src, ok := boards.Source(name)
	if !ok {
		t.Fatalf("no board %s", name)
	}
	b, problems := netlist.Read(name+".board", src)
	if mistake.HasErrors(problems) {
		t.Fatal(problems)
	}
	return b
}

// The demo boards are made for their panels: all lanes are used, and check agrees.
func TestDemoBoardsFitTheirPanels(t *testing.T) {
	for name, want := range map[string]string{
		"larkspur13": "1280x800 at 59.91 Hz, LVDS, one channel of three data pairs",
		"siskin15":   "1680x1050 at 59.88 Hz, LVDS, two channels of three data pairs",
		"teasel14":   "1920x1080 at 59.93 Hz, eDP, two lanes (assumed)",
	} {
		b := demo(t, name)
		s, err := Of(b)
		if err != nil || !s.Told() {
			t.Fatalf("%s: %+v, %v", name, s, err)
		}
		f, err := Fit(b, s, boards.Beside)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got := f.Need.String(); got != want {
			t.Errorf("%s asks for %q, want %q", name, got, want)
		}
		if !f.Fit.OK() || len(f.Board.IdleLanes()) != 0 {
			t.Errorf("%s: problems %v, idle %v", name, f.Fit.Problems, f.Board.IdleLanes())
		}
		for _, p := range Check(b, boards.Beside) {
			t.Error(p.Report())
		}
	}
}

func TestParse(t *testing.T) {
	isFile := func(name string) bool { return name == "a.bin" }
	for _, tt := range []struct {
		text string
		want Spec
		err  string
	}{
		{text: "1366x768@60", want: Spec{Mode: "1366x768@60"}},
		{text: "a.bin", want: Spec{EDID: "a.bin"}},
		{text: "edid=b.bin", want: Spec{EDID: "b.bin"}},
		{text: "1366x768, bits=18 , channels=2,link=lvds", want: Spec{Mode: "1366x768", Bits: 18, Channels: 2, Link: link.LVDS}},
		{text: "a.bin,lanes=4,rate=5.4,link=edp", want: Spec{EDID: "a.bin", Lanes: 4, Rate: 5.4e9, Link: link.EDP}},
		{text: "1366x768,map=jeida", want: Spec{Mode: "1366x768", Map: "jeida"}},
		{text: "", err: "nothing stands between two commas"},
		{text: "bits=18", err: "a file with identity data or a mode is missing"},
		{text: "1366x768,18", err: `expected KEY=VALUE behind the comma, not "18"`},
		{text: "1366x768,bits=17", err: "one of 18, 24, 30, 36"},
		{text: "1366x768,map=vega", err: `one of vesa, jeida; did you mean "vesa"?`},
		{text: "1366x768,link=mipi", err: `"mipi" is not a value of link: one of lvds, edp`},
		{text: "1366x768,rate=2", err: `"2" is not a value of rate: one of 1.62, 2.16`},
		{text: "1366x768,rate=NaN", err: "not a value of rate"},
		{text: "1366x768,chanels=2", err: `did you mean "channels"`},
		{text: "1366by", err: `there is no file "1366by"`},
	} {
		got, err := Parse(tt.text, isFile)
		switch {
		case tt.err != "":
			if err == nil || !strings.Contains(err.Error(), tt.err) {
				t.Errorf("%q: error %v, want %q", tt.text, err, tt.err)
			}
		case err != nil:
			t.Errorf("%q: %v", tt.text, err)
		default:
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("%q (-want +got):\n%s", tt.text, diff)
			}
		}
	}
}

// Each rate of the table of part kinds is one that the link knows.
func TestRatesOfTheTable(t *testing.T) {
	words := netlist.KindByName("panel").AttrByName("rate").Words
	if len(words) != len(link.Rates()) {
		t.Errorf("%d words for %d rates", len(words), len(link.Rates()))
	}
	for _, word := range words {
		s, err := Parse("1366x768,rate="+word, func(string) bool { return false })
		if err != nil {
			t.Fatal(err)
		}
		a, err := s.Read(nil)
		if err != nil {
			t.Fatal(err)
		}
		if n, err := link.Needs(a.Ask); err != nil || n.EDP.Rate != s.Rate {
			t.Errorf("%s: %v", word, err)
		}
	}
}

// What is said beside the file wins over what the file says.
func TestWordsWinOverTheFile(t *testing.T) {
	a, err := Spec{EDID: "teasel14.edid", Bits: 18, Link: link.LVDS}.Read(boards.Beside)
	if err != nil {
		t.Fatal(err)
	}
	if a.Bits != 18 || a.Kind != link.LVDS {
		t.Errorf("%d bits, %s", a.Bits, a.Kind)
	}
	a, err = Spec{EDID: "teasel14.edid"}.Read(boards.Beside)
	if err != nil {
		t.Fatal(err)
	}
	if a.Most != 24 || a.Bits != 0 || a.Kind != link.EDP {
		t.Errorf("the file says 24 bits and eDP, read %d and %s", a.Most, a.Kind)
	}
	a, err = Spec{EDID: "teasel14.edid", Mode: "1366x768@60"}.Read(boards.Beside)
	if err != nil {
		t.Fatal(err)
	}
	if a.Mode.H.Active != 1366 || len(a.Notes) != 1 {
		t.Errorf("mode %v, notes %v", a.Mode, a.Notes)
	}
}

func TestFilesThatAreNoIdentity(t *testing.T) {
	ones := strings.Repeat("ff ", 128)
	files := map[string]string{"ones": ones, "text": "no hex here"}
	read := func(name string) ([]byte, error) {
		if s, ok := files[name]; ok {
			return []byte(s), nil
		}
		return nil, fs.ErrNotExist
	}
	for name, want := range map[string]string{
		"gone": "there is no file gone",
		"ones": "ones tells of no mode",
		"text": "text:1",
	} {
		_, err := Spec{EDID: name}.Read(read)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
	broken := errors.New("broken")
	if _, err := (Spec{EDID: "x"}).Read(func(string) ([]byte, error) { return nil, broken }); !errors.Is(err, broken) {
		t.Errorf("the cause is lost: %v", err)
	}
}

// A clock that the board file declares must be the one that the panel asks for.
func TestCheckComparesTheClock(t *testing.T) {
	src, _ := boards.Source("larkspur13")
	b, _ := netlist.Read("x.board", strings.ReplaceAll(src, "rate=71MHz", "rate=85.5MHz"))
	list := Check(b, boards.Beside)
	if len(list) != 2 {
		t.Fatalf("%d problems, want one for each leg of the clock: %v", len(list), list)
	}
	for _, p := range list {
		if !strings.Contains(p.Msg, "85.5") || !strings.Contains(p.Msg, "71") || p.Line == 0 {
			t.Errorf("%s", p.Report())
		}
	}
}

// A flipped bit in the timing would make the second channel superfluous; with a sum
// that is wrong nothing may hang on that.
func TestDamagedDataLeaveNoLaneQuiet(t *testing.T) {
	data, err := Spec{EDID: "siskin15.edid"}.Read(boards.Beside)
	if err != nil {
		t.Fatal(err)
	}
	hurt := slices.Clone(data.Bytes)
	hurt[0x37] ^= 0x20
	b := demo(t, "siskin15")
	f, err := Fit(b, Spec{EDID: "hurt"}, func(string) ([]byte, error) { return hurt, nil })
	if err != nil {
		t.Fatal(err)
	}
	if f.Asked.Doubt == "" || len(f.Fit.Idle) != 0 || len(f.Board.IdleLanes()) != 0 || len(f.Fit.Alive) != len(b.Lanes) {
		t.Errorf("doubt %q, idle %v, alive %v", f.Asked.Doubt, f.Fit.Idle, f.Fit.Alive)
	}
	// Without the doubt the same bytes would leave lanes idle, so the test can fail.
	a := f.Asked
	a.Doubt = ""
	if _, fit, err := a.On(b); err != nil || len(fit.Idle) == 0 {
		t.Errorf("the damage leaves no lane idle even when believed: %v, %v", fit.Idle, err)
	}
}
