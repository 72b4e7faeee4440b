package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
)

// takers are the commands that take readings, each with how it gets one. A complaint
// stands beside each reading, so that a walk has where to begin.
var takers = []struct {
	name string
	few  bool // takes long, and gets its readings as the one above does
	args func(t *testing.T, reading, beside string) []string
}{
	{"trace", false, words("trace", "larkspur13")},
	{"draw", false, words("draw", "larkspur13", "--format", "dot")},
	{"probe walk", false, words("probe", "larkspur13", "--order", "walk")},
	{"probe", true, words("probe", "larkspur13")},
	{"narrow", false, words("narrow", "larkspur13")},
	{"narrow --from", true, func(t *testing.T, reading, beside string) []string {
		file := filepath.Join(t.TempDir(), "readings.txt")
		if err := os.WriteFile(file, []byte(reading+"\n"+beside+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		return []string{"narrow", "larkspur13", "--from", file}
	}},
	{"predict --stages", false, words("predict", "larkspur13", "--stages")},
	{"bench", false, func(t *testing.T, reading, beside string) []string {
		return append([]string{"bench", "larkspur13", "--plain", "--file", filepath.Join(t.TempDir(), "a.case"), reading},
			strings.Fields(beside)...)
	}},
}

func words(head ...string) func(*testing.T, string, string) []string {
	return func(_ *testing.T, reading, beside string) []string {
		return append(append(slices.Clone(head), reading), strings.Fields(beside)...)
	}
}

// taken runs a command with a reading. What was typed is written as it is understood,
// and blanks as one, so that outputs can be compared.
func taken(t *testing.T, args []string, typed, says string) (status int, out, diag string) {
	t.Helper()
	var o, d bytes.Buffer
	status = run(context.Background(), args, strings.NewReader(""), &o, &d)
	plain := func(s string) string {
		if i := strings.Index(s, "a.case"); i >= 0 { // its folder has another name each time
			s = strings.ReplaceAll(s, s[strings.LastIndexAny(s[:i], " \n")+1:i], "")
		}
		s = strings.Join(strings.Fields(s), " ")
		whole := regexp.MustCompile(regexp.QuoteMeta(strings.Join(strings.Fields(typed), " ")) + "([ ,;:]|$)")
		return whole.ReplaceAllString(s, says+"$1")
	}
	return status, plain(o.String()), d.String()
}

// complaint is the one that stands beside a form.
func complaint(form netlist.ReadingForm) string {
	switch {
	case strings.Contains(form.Text, "@lid=shut"):
		return "VBL=31V@lid=shut" // a walk is of one state
	case strings.Contains(form.Text, "LIGHT"):
		return "EDID=unread"
	}
	return "LIGHT=no"
}

// Every command understands every form as the table says: with what was typed its
// output is the same as with the canonical reading, and not that without it.
func TestEveryCommandUnderstandsEveryForm(t *testing.T) {
	if testing.Short() {
		t.Skip("runs every command on every form")
	}
	for _, c := range takers {
		t.Run(c.name, func(t *testing.T) {
			without := map[string]string{}
			for i, form := range netlist.ReadingForms {
				if form.Says == "" || c.few && i%4 != 0 {
					continue
				}
				other := complaint(form)
				status, want, _ := taken(t, c.args(t, form.Says, other), form.Says, form.Says)
				if status != exitOK {
					t.Errorf("%s: exit status %d", form.Says, status)
					continue
				}
				if without[other] == "" {
					_, without[other], _ = taken(t, c.args(t, other, ""), other, other)
				}
				if without[other] == want {
					t.Errorf("%s changes nothing", form.Says)
				}
				typed := append([]string{form.Text}, form.Also...)
				if text := typed[len(typed)-1]; text != form.Says {
					status, got, diag := taken(t, c.args(t, text, other), text, form.Says)
					if status != exitOK {
						t.Errorf("%s: exit status %d\n%s", text, status, diag)
					} else if diff := cmp.Diff(want, got); diff != "" {
						t.Errorf("%s is not understood as %s:\n%s", text, form.Says, diff)
					}
				}
			}
		})
	}
}

// Every command refuses what the table refuses, with the same message.
func TestEveryCommandRefusesWithTheSameWords(t *testing.T) {
	text, _ := boards.Source("larkspur13")
	b, problems := netlist.Read("larkspur13.board", text)
	if mistake.HasErrors(problems) {
		t.Fatal(problems)
	}
	for _, form := range netlist.ReadingForms {
		if form.Says != "" {
			continue
		}
		_, err := b.ParseReading(form.Text, b.Usual())
		var m mistake.Mistake
		if !errors.As(err, &m) {
			t.Errorf("%s: %v", form.Text, err)
			continue
		}
		for _, c := range takers {
			var out, diag bytes.Buffer
			status := run(context.Background(), c.args(t, form.Text, ""), strings.NewReader(""), &out, &diag)
			said := diag.String()
			if status == exitOK || !strings.Contains(said, m.Msg) || !strings.Contains(said, m.Want) ||
				!strings.Contains(said, mistake.DidYouMean(m.Near)) || !strings.Contains(said, "^") {
				t.Errorf("%s %s: exit status %d, and not %q but\n%s", c.name, form.Text, status, m.Report(), said)
			}
		}
	}
}

// A reading that says nothing in its state is told so by every command in the same words.
func TestEveryCommandTellsOfAReadingThatIsNotValid(t *testing.T) {
	const want = "Not valid in this state: on a healthy board LIGHT is not there while lid=shut."
	for _, c := range takers {
		var out, diag bytes.Buffer
		status := run(context.Background(), c.args(t, "LIGHT=no@lid=shut", ""), strings.NewReader(""), &out, &diag)
		all := strings.Join(strings.Fields(strings.ReplaceAll(out.String(), `\n`, " ")), " ")
		if status != exitOK || strings.Count(all, "Not valid") != 1 || !strings.Contains(all, want) ||
			strings.Contains(diag.String(), "Not valid") {
			t.Errorf("%s: exit status %d, and it does not say %q once on stdout:\n%s", c.name, status, want, all+diag.String())
		}
		// A rail that is expected at another level in that state is judged by that.
		out.Reset()
		diag.Reset()
		status = run(context.Background(), c.args(t, "VBL=0V@lid=shut", ""), strings.NewReader(""), &out, &diag)
		if status != exitOK || strings.Contains(out.String()+diag.String(), "Not valid") {
			t.Errorf("%s VBL=0V@lid=shut: exit status %d\n%s", c.name, status, out.String()+diag.String())
		}
	}
}

// A reading is judged alike by every command: with what the board file declares, then
// with what is computed.
func TestEveryCommandJudgesAlike(t *testing.T) {
	for reading, right := range map[string]bool{
		"VBL=swing:0.3V": true, "VBL=swing:3V": false,
		"BL_FB=1.2V": false, "BL_FB=1.1V": true, "V3_RUN=3.1V": false, "V3_RUN=3.2V": true, "V3_RUN=3.5V": false,
		"VBL=diode:0.55V": false, "VBL=diode:0.57V": true, "VBL=ohms:50k": true, "VBL=ohms:60k": false,
		"F3=80mohm": true, "F3=OL": false, "J2.25=OL": false, "J2.25=0.05ohm": true, "J2.25=OL@panel=out": true,
		"BL_PWM=quiet": false, "VMAIN=quiet": true, "VBL=high": true, "VBL=low": false,
		"VBL=12.2V@lid=shut": true, "VBL=0V@lid=shut": false, "V3_RUN=0V@power=sleep": true,
	} {
		for _, c := range []struct{ name, right, wrong string }{
			{"trace", "is right", ""}, {"narrow", "as on a healthy board", "differs: "}, {"bench", "as on a healthy board", "differs: "},
		} {
			args := []string{c.name, "larkspur13", reading}
			if c.name == "bench" {
				args = append(args, "--plain", "--file", filepath.Join(t.TempDir(), "a.case"))
			}
			var out, diag bytes.Buffer
			status := run(context.Background(), args, strings.NewReader(""), &out, &diag)
			all := strings.Join(strings.Fields(out.String()+diag.String()), " ")
			_, all, _ = strings.Cut(all, reading) // the head of a case names its file
			all, _, _ = strings.Cut(all, "Suspects")
			says := right == strings.Contains(all, c.right)
			if c.name == "trace" {
				says = right == (status != exitOK)
			} else if strings.Contains(all, "Not valid") { // which is right, too
				says = right
			} else if !right {
				says = strings.Contains(all, c.wrong)
			}
			if !says {
				t.Errorf("%s %s: right is %v, exit status %d:\n%.300s", c.name, reading, right, status, all)
			}
		}
	}
}

// What a shell parts at blanks is put together, when it is no symptom of its own.
func TestReadingsPartedByTheShell(t *testing.T) {
	for text, want := range map[string][]string{
		"VBL = 0V dark":      {"VBL = 0V", "dark"},
		"dark VBL=40 kΩ":     {"dark", "VBL=40 kΩ"},
		"VBL=40 k EDID=read": {"VBL=40 k", "EDID=read"},
		"VBL= 0V":            {"VBL= 0V"},
		"VBL =0V":            {"VBL =0V"},
		"VBL=0V dark":        {"VBL=0V", "dark"},
		"k VBL=0V":           {"k", "VBL=0V"},
		"VBL=0V VBL_F=0V":    {"VBL=0V", "VBL_F=0V"},
	} {
		if diff := cmp.Diff(want, joined(strings.Fields(text))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", text, diff)
		}
	}
}

// A walk is of one state.
func TestReadingsOfTwoStatesAreNoWalk(t *testing.T) {
	for line, want := range map[string]string{
		"LIGHT=no VBL=31V@lid=shut":            "this is read while power=run lid=shut, and the walk is of power=run lid=open",
		"LIGHT=no@lid=shut VBL=0V":             "this is read while power=run lid=shut",
		"VBL=31V@lid=shut --state power=sleep": "and the walk is of power=sleep lid=open",
		"VBL=0V@panel=out":                     "a walk is of a board with its panel",
		"LIGHT=no VBL=12V VBL=0V":              "cannot both be",
		"A.0=quiet or A.1=quiet":               "",
	} {
		args := append([]string{"trace", "larkspur13"}, strings.Fields(line)...)
		if want == "" {
			args, want = []string{"trace", "larkspur13", line}, "a walk begins at one point"
		}
		var out, diag bytes.Buffer
		if status := run(context.Background(), args, strings.NewReader(""), &out, &diag); status != exitUsage ||
			!strings.Contains(diag.String(), want) {
			t.Errorf("%s: exit status %d, %s", line, status, diag.String())
		}
	}
	var out, diag bytes.Buffer
	if status := run(context.Background(), []string{"trace", "larkspur13", "LIGHT=no", "--state", "lid=shut", "VBL=ohms:3", "F3=OL@panel=in"},
		strings.NewReader(""), &out, &diag); status != exitOK || !strings.Contains(out.String(), "lid=shut") {
		t.Errorf("readings with all power out beside a state: exit status %d, %s", status, diag.String())
	}
}
