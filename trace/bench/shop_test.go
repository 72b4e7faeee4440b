package bench

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/repair"
)

var (
	shopCases = flag.Int("shop", 6, "cases that the simulated shop takes in of each kind")
	shopList  = flag.String("shop-list", "", "file for what was said and read in each case")
)

// maker draws what is wrong with a board.
type maker func(rng *rand.Rand, b *netlist.Board, j *job)

func listed(rng *rand.Rand, b *netlist.Board, j *job)   { j.flaws = []flaw{draw(rng, b)} }
func unlisted(rng *rand.Rand, b *netlist.Board, j *job) { j.flaws = []flaw{stray(rng, b)} }
func leaking(rng *rand.Rand, b *netlist.Board, j *job)  { listed(rng, b, j); j.leaks = true }

// take works through cases of one kind, spread over the boards. What no customer would
// notice is drawn anew.
func take(t *testing.T, count int, first uint64, trouble maker) []outcome {
	t.Helper()
	var list []outcome
	known := shopNarrowers{}
	for seed := first; len(list) < count; seed++ {
		j := job{board: shopBoards[len(list)%len(shopBoards)], seed: seed, slip: 0.02}
		b := shopBoard(t, j.board)
		trouble(rand.New(rand.NewPCG(seed, 3)), b, &j)
		if o, ok := work(t, known.of(b), b, j); ok {
			list = append(list, o)
		}
	}
	if *shopList != "" {
		f, err := os.OpenFile(*shopList, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
		if err != nil {
			t.Fatal(err)
		}
		for i := range list {
			fmt.Fprintln(f, list[i].line(shopBoard(t, list[i].board), true))
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return list
}

// line tells of a case in one line, with what was read where long is set.
func (o *outcome) line(b *netlist.Board, long bool) string {
	var wrong []string
	for _, f := range o.flaws {
		wrong = append(wrong, f.name(b))
	}
	mark := "wrong"
	if o.right {
		mark = "right"
	}
	text := fmt.Sprintf("%s %s %d %s: %s, %.0f%%; %.1f min, repaired %.0f min, %d repairs", mark, o.board, o.seed,
		strings.Join(wrong, " + "), o.verdict, 100*o.stated, o.toVerdict, o.toRepair, o.repairs)
	if o.slips > 0 {
		text += fmt.Sprintf(", %d misread", o.slips)
	}
	if o.cleared != "" {
		text += ", cleared by " + o.cleared
	}
	if long {
		text += " | " + strings.Join(o.said, " ")
		if len(o.refused) > 0 {
			text += " | refused " + strings.Join(o.refused, "; ")
		}
	}
	return text
}

// sums are what a shop comes to.
type sums struct {
	cases, right, net, chips, condemned, gaveUp, refused int
	verdict, repaired                                    float64 // min
	brier, log                                           float64
	bins                                                 [10]struct {
		n, right int
		stated   float64
	}
}

func add(list []outcome) (s sums) {
	for i := range list {
		o := &list[i]
		s.cases++
		s.verdict += o.toVerdict
		s.repaired += o.toRepair
		hit := 0.0
		if o.right {
			s.right++
			hit = 1
		}
		if o.right || o.net {
			s.net++
		}
		if o.kind == repair.Rework && !o.right {
			s.chips++
			if o.cleared != "" {
				s.condemned++
			}
		}
		if o.gaveUp {
			s.gaveUp++
		}
		s.refused += len(o.refused)
		s.brier += (o.stated - hit) * (o.stated - hit)
		s.log += math.Log(max(1e-3, 1-math.Abs(hit-o.stated)))
		bin := &s.bins[min(9, int(o.stated*10))]
		bin.n++
		bin.stated += o.stated
		bin.right += int(hit)
	}
	return s
}

// sure returns how many verdicts stated 90 % and more, and how many of them were right.
func (s *sums) sure() (n, right int) { return s.bins[9].n, s.bins[9].right }

func (s *sums) table(what string) string {
	n := float64(max(1, s.cases))
	var o strings.Builder
	fmt.Fprintf(&o, "\n%s: %d cases\n", what, s.cases)
	fmt.Fprintf(&o, "  right action first at the verdict   %d, %.0f %%\n", s.right, 100*float64(s.right)/n)
	fmt.Fprintf(&o, "  right, or a net of it is named      %d, %.0f %%\n", s.net, 100*float64(s.net)/n)
	fmt.Fprintf(&o, "  min to the verdict, to the repair   %.1f, %.1f\n", s.verdict/n, s.repaired/n)
	fmt.Fprintf(&o, "  Brier score, mean log               %.3f, %.2f\n", s.brier/n, s.log/n)
	fmt.Fprintf(&o, "  ball-grid chips condemned wrongly   %d, of them %d that a probe under a minute clears\n", s.chips, s.condemned)
	fmt.Fprintf(&o, "  given up %d, words refused %d\n", s.gaveUp, s.refused)
	fmt.Fprintln(&o, "  stated        cases  right  mean stated")
	for i, bin := range s.bins {
		if bin.n > 0 {
			fmt.Fprintf(&o, "  %3d to %3d %%   %4d  %4.0f %%  %4.0f %%\n", 10*i, 10*i+10, bin.n, 100*float64(bin.right)/float64(bin.n),
				100*bin.stated/float64(bin.n))
		}
	}
	return o.String()
}

func wrongOnes(t *testing.T, list []outcome) string {
	var lines []string
	for i := range list {
		if !list[i].right {
			lines = append(lines, "  "+list[i].line(shopBoard(t, list[i].board), false))
		}
	}
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}

// least is what a share may come to by chance in so many cases.
func least(share float64, n int) float64 {
	return share - 2.5*math.Sqrt(share*(1-share)/float64(max(1, n)))
}

// holds asserts what the shop reached when this was written: the share of right actions,
// and of right ones among the verdicts that stated 90 % and more, less two and a half
// standard deviations of so many cases.
func (s *sums) holds(t *testing.T, right, sure float64) {
	t.Helper()
	if have := float64(s.right) / float64(max(1, s.cases)); have < least(right, s.cases) {
		t.Errorf("the right action is first in %.0f %% of %d, and was in %.0f %%", 100*have, s.cases, 100*right)
	}
	if n, hits := s.sure(); n > 0 && float64(hits)/float64(n) < least(sure, n) {
		t.Errorf("of %d verdicts stated at 90 %% and more %d are right, and %.0f %% were", n, hits, 100*sure)
	}
	if s.verdict <= 0 || s.repaired < s.verdict {
		t.Errorf("%.1f min to the verdicts and %.1f min to the repairs", s.verdict, s.repaired)
	}
}

// TestShop takes boards in as they come to a bench, with the causes that the file lists,
// each of any size, and prints what became of them.
func TestShop(t *testing.T) {
	list := take(t, *shopCases, 1000, listed)
	s := add(list)
	t.Log(s.table("causes in the file") + wrongOnes(t, list))
	s.holds(t, 0.87, 0.93)
}

// TestShopUnlisted takes boards in whose cause is not in the file.
func TestShopUnlisted(t *testing.T) {
	list := take(t, *shopCases, 500_000, unlisted)
	s := add(list)
	t.Log(s.table("something from a net to another") + wrongOnes(t, list))
	s.holds(t, 0, 0)
}

// TestShopLeaks takes boards in on which junctions leak.
func TestShopLeaks(t *testing.T) {
	list := take(t, *shopCases, 700_000, leaking)
	s := add(list)
	t.Log(s.table("junctions that leak") + wrongOnes(t, list))
	s.holds(t, 0.8, 0.84)
}
