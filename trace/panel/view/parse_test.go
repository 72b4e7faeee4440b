package view

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist/mistake"
)

func TestWordsOfCustomers(t *testing.T) {
	for text, want := range map[string]string{
		"red is gone":                         "red=black",
		"no red":                              "red=black",
		"no red, white=cyan":                  "red=black white=cyan",
		"blue=gone":                           "blue=black",
		"red=missing":                         "red=black",
		"green=no":                            "green=black",
		"red is wrong":                        "red=wrong",
		"red missing":                         "red=black",
		"The red is gone, the blue missing":   "red=black blue=black",
		"picture gone":                        "picture=none",
		"the picture is dark":                 "picture=none",
		"everything looks green":              "grey=green",
		"everything is dark; the white=cyan":  "grey=dark white=cyan",
		"white=gone red absent":               "white=black red=black",
		"white=ok, red = Right":               "white=white red=red",
		"white looks cyan, red looks black":   "white=cyan red=black",
		"white=light blue columns=odd":        "white=light blue columns=odd",
		"white=light-blue red=black":          "white=light blue red=black",
		"ramp=upside-down; gray=black":        "",
		"picture is gone":                     "picture=none",
		"no picture":                          "picture=none",
		"white=reddish black=dark-purple":     "white=reddish black=purple",
		"grey is posterized, no green":        "grey=posterised green=black",
		"White=Sky Blue":                      "white=light blue",
		"specks=no picture=stable":            "specks=no picture=stable",
		"red=no white=cyan":                   "red=black white=cyan",
		"grey=negative":                       "grey=upside down",
		"white=dark cyan  black = dark-green": "white=dark cyan black=dark green",
	} {
		s, err := ParseSeen(text)
		if got := s.String(); got != want || (err != nil) != (want == "") {
			t.Errorf("%q is read as %q, %v; want %q", text, got, err, want)
		}
	}
}

// reported is a mistake as a person sees it.
func reported(err error) string {
	var m mistake.Mistake
	if errors.As(err, &m) {
		return m.Report()
	}
	return err.Error()
}

func TestErrorsShowHowToWrite(t *testing.T) {
	long := strings.Repeat("reddish", 60)
	for _, text := range []string{"everything reddish", "red", "the", "the red", "white=the", "gone", "white=blurry", "grey=blurry",
		"columns=blurry", "picture=blurry",
		"white=", "no", "no columns", long, "white=" + long, "red is " + long, "grey=" + long} {
		_, err := ParseSeen(text)
		if err == nil {
			t.Errorf("%q is read", text)
			continue
		}
		if n := len(reported(err)); n > 500 || strings.Count(reported(err), "magenta") > 1 {
			t.Errorf("%q: %d characters: %s", text, n, reported(err))
		}
	}
	for _, text := range []string{"everything reddish", "red", "the red", "the colour is gone"} {
		if _, err := ParseSeen(text); err == nil || !strings.Contains(reported(err), `"white=cyan, red is gone, columns=second"`) {
			t.Errorf("%q: no example in %v", text, err)
		}
	}
	for _, text := range []string{long, "missing " + long, "stuck A.0=" + long, "wrong " + long, "missing ml" + long} {
		if _, err := ParseFaults(text); err == nil || len(reported(err)) > 400 {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// What people say of a field leads to the lane that makes it so, with a blank, with a
// hyphen or in quotes: common practice, no source.
func TestEverydayWordsLeadToLanes(t *testing.T) {
	one, two := []Link{{1, 18, VESA}}, []Link{{2, 18, VESA}}
	for _, tt := range []struct {
		links []Link
		words string // for a blank also tried with a hyphen and in quotes
		want  string
	}{
		{one, "white=light blue", "missing A.0=low"}, {one, "white=bluish", "missing A.0=low"}, {one, "white=turquoise", "missing A.0=low"},
		{one, "white=sky blue", "missing A.0=low"}, {one, "white=baby blue", "missing A.0=low"}, {one, "white=aqua", "missing A.0=low"},
		{one, "white=pink", "missing A.1=low"}, {one, "white=purple", "missing A.1=low"}, {one, "white=pinkish", "missing A.1=low"},
		{one, "white=hot pink", "missing A.1=low"}, {one, "black=dark red", "missing A.0"}, {one, "black=reddish", "missing A.0"},
		{one, "black=greenish", "missing A.1"}, {one, "green=yellowish", "missing A.0"}, {one, "blue=pink", "missing A.0"},
		{two, "white=light blue columns=second", "missing B.0=low"}, {two, "white=pink columns=even", "missing B.1=low"},
	} {
		key, word, _ := strings.Cut(tt.words, "=")
		texts := []string{tt.words, strings.Replace(tt.words, " ", "-", 1)}
		if first, rest, ok := strings.Cut(word, " columns"); ok {
			texts = append(texts, key+`="`+first+`" columns`+rest)
		} else {
			texts = append(texts, key+`="`+word+`"`, key+"='"+word+"'")
		}
		for _, text := range texts {
			if strings.Contains(text, "-columns") {
				continue
			}
			groups := suspects(t, tt.links, text)
			found := slices.ContainsFunc(groups[:min(3, len(groups))], func(g Suspicion) bool {
				return slices.ContainsFunc(g.Candidates, func(c Candidate) bool { return strings.HasPrefix(c.String(), tt.want) })
			})
			if !Fits(groups) || !found || groups[0].Candidates[0].Fault == nil {
				t.Errorf("%s: fits %v, first %s", text, Fits(groups), groups[0].Candidates)
			}
		}
	}
}

// A field that is right is called by its own name and by no other colour's.
func TestAnotherNameIsNotThatOfARightField(t *testing.T) {
	k := describe(t, Link{1, 24, VESA}, "missing A.0=low")
	for text, fits := range map[string]bool{
		"green=green": true, "green=bluish": false, "green=light green": false, "black=black": true, "black=dark grey": true,
		"black=dark blue": false, "blue=right": true,
	} {
		seen, err := ParseSeen(text)
		if err != nil {
			t.Fatal(err)
		}
		if got := k.cost(seen[0]); (got <= 0.5) != fits {
			t.Errorf("%s costs %.2f", text, got)
		}
	}
}

// "Wrong" fits every field that is seen to be another colour, and no other.
func TestWrongIsAnyOtherColour(t *testing.T) {
	k, err := Describe(Link{1, 18, VESA}, []Fault{{Kind: Missing, Level: Low}})
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]float64{"white": 0, "red": 0, "green": 1, "blue": 1} {
		if got := k.cost(Answer{key, "wrong"}); got != want {
			t.Errorf("%s=wrong costs %.2f, want %.0f", key, got, want)
		}
	}
}

func TestFaultsInLists(t *testing.T) {
	for _, c := range []struct {
		kind, value string
		want        []Fault
	}{
		{"missing", "A.0", []Fault{{Kind: Missing}}},
		{"missing", "A.0,A.1=low", []Fault{{Kind: Missing}, {Kind: Missing, Lane: Lane{0, 1}, Level: Low}}},
		{"missing", "A.0, A.0", []Fault{{Kind: Missing}}},
		{"missing", "0,b", []Fault{{Kind: Missing}, {Kind: ClockGone, Lane: Lane{1, Clock}}}},
		{"clock gone", "A.CLK,B.CLK=high", []Fault{{Kind: ClockGone, Lane: Lane{0, Clock}}, {Kind: ClockGone, Lane: Lane{1, Clock},
			Level: High}}},
		{"swapped", "A.0/A.1,B.1/B.0", []Fault{{Kind: Swapped, Other: Lane{0, 1}}, {Kind: Swapped, Lane: Lane{1, 0}, Other: Lane{1, 1}}}},
		{"leg", "A.1;A.2", []Fault{{Kind: Leg, Lane: Lane{0, 1}}, {Kind: Leg, Lane: Lane{0, 2}}}},
		{"stuck", "A.1=high, inverted A.0", []Fault{{Kind: Stuck, Lane: Lane{0, 1}, Level: High}, {Kind: Inverted}}},
		{"missing", "A.0 wrong map  stuck A.1=low", []Fault{{Kind: Missing}, {Kind: WrongMap}, {Kind: Stuck, Lane: Lane{0, 1}, Level: Low}}},
		{"", "inverted A.0, A.1, wrong map", []Fault{{Kind: Inverted}, {Kind: Inverted, Lane: Lane{0, 1}}, {Kind: WrongMap}}},
	} {
		got, err := ParseFaults(c.kind + " " + c.value)
		if err != nil {
			t.Errorf("%s %q: %v", c.kind, c.value, err)
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s %q:\n%s", c.kind, c.value, d)
		}
	}
	for _, c := range []struct {
		kind, value string
		column      int
	}{
		{"missing", "A.7", 1}, {"missing", "A.0,A.7", 5}, {"missing", "", 1}, {"missing", "A.0,", 5},
		{"clock gone", "A.0", 1}, {"stuck", "A.1", 4}, {"stuck", "A.1=high,A.2", 13}, {"swapped", "A.0,A.1", 4},
		{"missing", "A.0 A.1", 5}, {"missing", "A.0,lane 1", 5}, {"", "wrong mop", 1},
	} {
		text := c.kind + " " + c.value
		_, err := ParseFaults(text)
		var e mistake.Mistake
		if want := len(c.kind) + 1 + c.column; !errors.As(err, &e) || e.Column != want || e.Text != text {
			t.Errorf("%q: %v, want column %d", text, err, want)
		}
	}
}

func TestOneChannelIsSingular(t *testing.T) {
	_, err := Describe(Link{1, 24, VESA}, []Fault{{Kind: Missing, Lane: Lane{1, 0}}})
	if err == nil || !strings.Contains(err.Error(), "a link with 1 channel has no channel B") {
		t.Error(err)
	}
}
