package consist

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// satisfiable tries all values of the variables.
func satisfiable(variables int, clauses [][]lit, assume []lit) bool {
	holds := func(values int, l lit) bool { return values>>(l>>1)&1 != 0 == (l&1 == 0) }
	for values := range 1 << variables {
		holdsHere := func(l lit) bool { return holds(values, l) }
		if !slices.ContainsFunc(assume, func(l lit) bool { return !holdsHere(l) }) &&
			!slices.ContainsFunc(clauses, func(c []lit) bool { return !slices.ContainsFunc(c, holdsHere) }) {
			return true
		}
	}
	return false
}

func TestSolverIsRight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		variables := rapid.IntRange(1, 8).Draw(t, "variables")
		drawLit := rapid.Map(rapid.IntRange(0, 2*variables-1), func(i int) lit { return lit(i) })
		clauses := rapid.SliceOfN(rapid.SliceOfN(drawLit, 1, 3), 0, 40).Draw(t, "clauses")
		s := newSolver(variables)
		for _, c := range clauses {
			s.clause(slices.Clone(c)...)
		}
		for range 4 {
			assume := rapid.SliceOfNDistinct(drawLit, 0, variables, rapid.ID[lit]).Draw(t, "assume")
			want := satisfiable(variables, clauses, assume)
			if got := s.solve(assume); got != want {
				t.Fatalf("solve(%v) = %v", assume, got)
			}
			if want {
				continue
			}
			if satisfiable(variables, clauses, s.core) {
				t.Fatalf("core %v can hold", s.core)
			}
			for _, l := range s.core {
				// Where two assumptions are opposites the core may name both.
				if !slices.Contains(assume, l) && !slices.Contains(assume, l^1) {
					t.Fatalf("core %v is not of %v", s.core, assume)
				}
			}
		}
	})
}

// Eight pigeons do not fit into seven holes; each seven of them do. That takes some ten
// thousand conflicts (A. Haken, "The intractability of resolution", Theoretical Computer
// Science 39, 1985), enough to make old scores fade.
func TestSolverPigeons(t *testing.T) {
	const pigeons, holes = 8, 7
	s := newSolver(pigeons*holes + pigeons)
	home := func(p int) lit { return mkLit(pigeons*holes+p, false) }
	for p := range pigeons {
		all := []lit{home(p) ^ 1}
		for h := range holes {
			all = append(all, mkLit(p*holes+h, false))
			for q := range p {
				s.clause(mkLit(p*holes+h, true), mkLit(q*holes+h, true))
			}
		}
		s.clause(all...)
	}
	var all []lit
	for p := range pigeons {
		all = append(all, home(p))
	}
	if s.solve(all) {
		t.Error("all pigeons fit")
	}
	if len(s.core) != pigeons {
		t.Errorf("%d pigeons are blamed, want all", len(s.core))
	}
	for p := range pigeons {
		if !s.solve(slices.Delete(slices.Clone(all), p, p+1)) {
			t.Errorf("pigeons without %d do not fit", p)
		}
	}
}
