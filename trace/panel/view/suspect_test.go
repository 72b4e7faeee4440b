package view

import (
	"regexp"
	"slices"
	"strings"
	"testing"
)

// placeOf is the place, from 1, of the group that holds a fault and to which all
// answers fit; 0 when there is none.
func placeOf(t *testing.T, all []member, text string, f Fault) int {
	t.Helper()
	seen, err := ParseSeen(text)
	if err != nil {
		t.Fatal(err)
	}
	return 1 + slices.IndexFunc(rank(all, seen), func(g Suspicion) bool {
		return g.Cost == 0 && slices.ContainsFunc(g.Candidates, func(c Candidate) bool { return c.Fault != nil && *c.Fault == f })
	})
}

// Every single fault must be among the first suspects of its own look, whether the
// colours are those of the bad columns or those from a distance.
func TestSuspectFindsWhatDescribeTells(t *testing.T) {
	printed := regexp.MustCompile(`(\w+) looks ([a-z ]+[a-z])`)
	for _, l := range AllLinks() {
		all, err := everyLook([]Link{l})
		if err != nil {
			t.Fatal(err)
		}
		tried := map[string]int{} // equal texts are judged once
		at := func(text string, f Fault) int {
			key := text + "/" + f.String()
			if _, ok := tried[key]; !ok {
				tried[key] = placeOf(t, all, text, f)
			}
			return tried[key]
		}
		for _, f := range Singles(l) {
			k := all[slices.IndexFunc(all, func(m member) bool { return m.fault != nil && *m.fault == f })].look
			near := []string{"picture=" + k.Picture}
			said := slices.Clone(near)
			if k.Picture == Stable {
				columns := k.Columns
				if k.second() {
					columns = "second"
				}
				near, said = append(near, "columns="+k.Columns), append(said, "columns="+columns)
				for _, field := range k.Fields {
					if field.Show != "grey" {
						near = append(near, field.Show+"="+field.Bad)
					}
				}
				near = append(near, "grey="+k.grey.word())
				for _, m := range printed.FindAllStringSubmatch(k.Text(), -1) {
					if m[1] != "it" {
						said = append(said, m[1]+"="+m[2])
					}
				}
			}
			for _, text := range []string{k.Seen().String(), strings.Join(near, " ")} {
				if p := at(text, f); p < 1 || p > 3 {
					t.Errorf("%v %s: place %d for %q", l, f, p, text)
				}
			}
			if text := strings.Join(said, " "); at(text, f) == 0 {
				t.Errorf("%v %s: not found by %q", l, f, text)
			}
		}
	}
}

func suspects(t *testing.T, ls []Link, text string) []Suspicion {
	t.Helper()
	seen, err := ParseSeen(text)
	if err != nil {
		t.Fatal(err)
	}
	groups, err := Suspect(ls, seen)
	if err != nil {
		t.Fatal(err)
	}
	return groups
}

func TestCommonFaultsComeFirst(t *testing.T) {
	for _, c := range []struct {
		links []Link
		seen  string
		want  string // a candidate
		among int    // the first groups in which it must be
	}{
		{[]Link{{2, 18, VESA}}, "white=purple", "missing A.1=low", 2},
		{[]Link{{2, 18, VESA}}, "white=purple columns=second", "missing B.1=low", 2},
		{AllLinks(), "grey=banded", "missing A.3=low", 2},
		{AllLinks(), "white=cyan", "missing A.0=low", 1},
	} {
		groups := suspects(t, c.links, c.seen)
		place := slices.IndexFunc(groups, func(g Suspicion) bool {
			return slices.ContainsFunc(g.Candidates, func(o Candidate) bool { return o.String() == c.want })
		})
		if place < 0 || place >= c.among {
			t.Errorf("%q: %s is in group %d", c.seen, c.want, place+1)
		}
	}
	// With the link unknown the visible banding is that of VESA.
	vesa := func(g Suspicion) bool {
		return slices.ContainsFunc(g.Candidates, func(c Candidate) bool {
			return c.String() == "missing A.3=low" && slices.Contains(c.Links, Link{1, 24, VESA})
		})
	}
	if groups := suspects(t, AllLinks(), "grey=banded"); !slices.ContainsFunc(groups[:3], vesa) {
		t.Error("missing A.3 of the VESA map is not among the first three")
	}
}

// Where answers fit equally well, exchanged pairs come behind all other faults, and
// pairs of two channels last.
func TestExchangedPairsComeLast(t *testing.T) {
	class := func(f *Fault) int {
		switch {
		case f == nil || f.Kind != Swapped:
			return 0
		case f.Lane.Channel == f.Other.Channel:
			return 1
		}
		return 2
	}
	last := 0
	for _, f := range Singles(Link{2, 24, VESA}) {
		if class(&f) < last {
			t.Errorf("%s comes too late", f)
		}
		last = class(&f)
	}
	if last != 2 {
		t.Error("no pairs of two channels are exchanged")
	}
	for _, text := range []string{"columns=all", "columns=second", "grey=tinted"} {
		last, seen := 0, 0
		for _, g := range suspects(t, []Link{{2, 24, VESA}}, text) {
			if g.Cost > 0 || g.Look.faint {
				continue
			}
			seen++
			if c := class(g.Candidates[0].Fault); c < last {
				t.Errorf("%s: %s comes too late", text, g.Candidates[0])
			} else {
				last = c
			}
		}
		if seen < 3 {
			t.Errorf("%s: %d groups only", text, seen)
		}
	}
}

func TestNothingFitsIsSaid(t *testing.T) {
	l := []Link{{1, 18, VESA}}
	groups := suspects(t, l, "white=green black=white columns=odd")
	if Fits(groups) || len(groups) == 0 {
		t.Fatalf("fits %v, %d groups", Fits(groups), len(groups))
	}
	for _, g := range groups {
		for _, c := range g.Candidates {
			if c.Fault == nil {
				t.Errorf("a healthy link is suspected of %q", g.Looks)
			}
		}
	}
	if !Fits(suspects(t, l, "white=cyan")) || Fits(nil) {
		t.Error("Fits is wrong of white=cyan or of nothing")
	}
	for text, want := range map[string]bool{"columns=odd": true, "columns=second": true, "columns=all": false, "white=cyan": false} {
		seen, err := ParseSeen(text)
		if err != nil {
			t.Fatal(err)
		}
		if got := Remarks(l, seen); (len(got) == 1 && strings.Contains(got[0], "one channel cannot")) != want {
			t.Errorf("%s on one channel: %q", text, got)
		}
		if got := Remarks(AllLinks(), seen); got != nil {
			t.Errorf("%s on any link: %q", text, got)
		}
	}
}

// What a group says must hold for each of its candidates on each of its links.
func TestGroupsSayWhatHolds(t *testing.T) {
	for _, text := range []string{"white=cyan", "grey=banded", "columns=second", "black=green", "picture=rolls"} {
		for _, g := range suspects(t, AllLinks(), text) {
			for _, c := range g.Candidates {
				for _, l := range c.Links {
					k, err := Describe(l, faultsOf(c))
					if err != nil {
						t.Fatal(err)
					}
					if said := g.Looks; said != k.Text() {
						t.Errorf("%q: %s on %v is said to be %q, and looks %q", text, c, l, said, k.Text())
					}
				}
			}
		}
	}
}

func TestTwoChannelsAreSaidBothWays(t *testing.T) {
	k, err := Describe(Link{2, 18, VESA}, []Fault{{Kind: Missing, Lane: Lane{1, 0}, Level: Low}})
	if err != nil {
		t.Fatal(err)
	}
	if want := "in the bad columns white looks cyan (from a distance pale cyan)"; !strings.HasPrefix(k.Text(), want) {
		t.Errorf("%q does not start with %q", k.Text(), want)
	}
	for _, text := range []string{"white=cyan columns=second", "white=pale-cyan columns=second", "white=cyan columns=even"} {
		groups := suspects(t, []Link{{2, 18, VESA}}, text)
		if groups[0].Cost != 0 {
			t.Errorf("%q: %s, cost %.2f", text, groups[0].Candidates, groups[0].Cost)
		}
	}
}

// A panel without a picture is no matter of looks.
func TestWithoutAPictureTheBenchIsAsked(t *testing.T) {
	seen := Seen{{"picture", NoneSeen}}
	groups, err := Suspect(AllLinks(), seen)
	if err != nil {
		t.Fatal(err)
	}
	q := Next(groups, seen)
	if q == nil || !strings.Contains(q.Show, "supply") || !strings.Contains(q.Show, "clock pair and pair 2 of channel A") {
		t.Errorf("next is %+v", q)
	}
}

func faultsOf(c Candidate) []Fault {
	if c.Fault == nil {
		return nil
	}
	return []Fault{*c.Fault}
}

// What is seen leads to the lanes of which one is dead; what is no matter of a dead lane is
// told apart, and without a picture, or where nothing fits, there are none.
func TestDeadLanes(t *testing.T) {
	one, two := []Link{{1, 18, VESA}}, []Link{{2, 18, VESA}}
	for _, tt := range []struct {
		links  []Link
		seen   string
		lanes  []Lane
		others []string
	}{
		{one, "white=cyan black=black", []Lane{{0, 0}}, nil},
		{one, "white=cyan", []Lane{{0, 0}}, []string{"inverted A.0"}},
		{two, "white=cyan black=black columns=second", []Lane{{0, 0}, {1, 0}}, []string{"swapped B.0/B.2"}},
		{two, "white=cyan black=black columns=even", []Lane{{1, 0}}, []string{"swapped B.0/B.2"}},
		{one, "picture=none", nil, nil},
		{one, "white=green black=white columns=odd", nil, nil},
	} {
		lanes, others := Dead(suspects(t, tt.links, tt.seen))
		if !slices.Equal(lanes, tt.lanes) || !slices.Equal(others, tt.others) {
			t.Errorf("%s: %v and %q, want %v and %q", tt.seen, lanes, others, tt.lanes, tt.others)
		}
	}
	// Each lane that is dead is found again, when its look keeps a picture.
	for _, n := range []Lane{{0, 0}, {0, 1}, {1, 0}, {1, 1}, {1, 2}, {1, Clock}} {
		kind := Missing
		if n.Pair == Clock {
			kind = ClockGone
		}
		k, err := Describe(two[0], []Fault{{Kind: kind, Lane: n}})
		if err != nil {
			t.Fatal(err)
		}
		if lanes, _ := Dead(suspects(t, two, k.Seen().String())); !slices.Contains(lanes, n) {
			t.Errorf("%s is not among %v", n, lanes)
		}
	}
	// The lanes that must live for a picture are those without which there is none.
	for _, n := range []Lane{{0, Clock}, {0, 0}, {0, 1}, {0, 2}, {1, 0}, {1, 2}, {1, Clock}} {
		kind := Missing
		if n.Pair == Clock {
			kind = ClockGone
		}
		k, err := Describe(two[0], []Fault{{Kind: kind, Lane: n}})
		if err != nil {
			t.Fatal(err)
		}
		if needed := slices.Contains(Alive(), n); needed != (k.Picture != Stable) {
			t.Errorf("%s: needed %v, picture %s", n, needed, k.Picture)
		}
	}
}
