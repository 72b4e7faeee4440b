package consist

import "slices"

// solver decides whether clauses can all be true together with some assumptions: conflict-
// driven clause learning after N. Eén and N. Sörensson, "An extensible SAT-solver", SAT
// 2003. What it learns it keeps, so that later questions about the same circuit cost less.
type solver struct {
	clauses [][]lit
	watch   [][]int // clauses that watch a literal, looked at when it becomes false
	value   []int8  // of each literal: 1 true, -1 false, 0 open
	level   []int   // of each variable
	reason  []int   // the clause that set a variable, or -1
	trail   []lit
	limits  []int // where each level starts in the trail
	head    int   // the trail up to here is propagated
	score   []float64
	bump    float64
	last    []bool // the value that a variable had when it was last set
	mark    []bool
	dead    bool  // contradictory without assumptions
	core    []lit // after a "no": assumptions that cannot all be true
}

// lit is a variable, shifted left, and 1 when it is negated.
type lit int

func mkLit(variable int, negated bool) lit {
	if negated {
		return lit(variable<<1 | 1)
	}
	return lit(variable << 1)
}

func newSolver(variables int) *solver {
	s := &solver{bump: 1}
	for range variables {
		s.variable()
	}
	return s
}

func (s *solver) variable() int {
	s.watch = append(s.watch, nil, nil)
	s.value = append(s.value, 0, 0)
	s.level = append(s.level, 0)
	s.reason = append(s.reason, -1)
	s.score = append(s.score, 0)
	s.last = append(s.last, false)
	s.mark = append(s.mark, false)
	return len(s.level) - 1
}

// clause demands that one of the literals be true. It comes before any question.
func (s *solver) clause(lits ...lit) {
	slices.Sort(lits)
	lits = slices.Compact(lits)
	for i, l := range lits {
		if i > 0 && lits[i-1] == l^1 {
			return
		}
	}
	if len(lits) > 1 {
		s.attach(lits)
		return
	}
	switch s.value[lits[0]] {
	case 0:
		s.assign(lits[0], -1)
	case -1:
		s.dead = true
	}
}

func (s *solver) attach(lits []lit) int {
	id := len(s.clauses)
	s.clauses = append(s.clauses, lits)
	s.watch[lits[0]] = append(s.watch[lits[0]], id)
	s.watch[lits[1]] = append(s.watch[lits[1]], id)
	return id
}

func (s *solver) assign(l lit, reason int) {
	s.value[l], s.value[l^1] = 1, -1
	v := int(l >> 1)
	s.level[v], s.reason[v] = len(s.limits), reason
	s.last[v] = l&1 == 0
	s.trail = append(s.trail, l)
}

// solve tells whether the clauses and the assumptions can all be true.
func (s *solver) solve(assume []lit) bool {
	s.core = nil
	defer s.undo(0)
	for !s.dead {
		if bad := s.propagate(); bad >= 0 {
			if len(s.limits) == 0 {
				s.dead = true
				break
			}
			s.learn(bad)
			continue
		}
		next, ok := s.decide(assume)
		if !ok {
			return false
		}
		if next < 0 {
			return true
		}
		s.limits = append(s.limits, len(s.trail))
		s.assign(next, -1)
	}
	return false
}

// decide returns the next literal to try, -1 when all variables are set, and false when an
// assumption is refuted.
func (s *solver) decide(assume []lit) (lit, bool) {
	for len(s.limits) < len(assume) {
		a := assume[len(s.limits)]
		switch s.value[a] {
		case 0:
			return a, true
		case -1:
			s.explain(a)
			return 0, false
		}
		s.limits = append(s.limits, len(s.trail))
	}
	best := -1
	for v, score := range s.score {
		if s.value[v<<1] == 0 && (best < 0 || score > s.score[best]) {
			best = v
		}
	}
	if best < 0 {
		return -1, true
	}
	return mkLit(best, !s.last[best]), true
}

// propagate sets what follows and returns a clause that is false, or -1.
func (s *solver) propagate() int {
	for ; s.head < len(s.trail); s.head++ {
		gone := s.trail[s.head] ^ 1
		list := s.watch[gone]
		kept := list[:0]
		for k, id := range list {
			c := s.clauses[id]
			if c[0] == gone {
				c[0], c[1] = c[1], c[0]
			}
			if s.value[c[0]] > 0 || !s.rewatch(id, c) {
				kept = append(kept, id)
				if s.value[c[0]] == 0 {
					s.assign(c[0], id)
				} else if s.value[c[0]] < 0 {
					s.watch[gone] = append(kept, list[k+1:]...)
					return id
				}
			}
		}
		s.watch[gone] = kept
	}
	return -1
}

// rewatch finds another literal that is not false to watch in place of the second one.
func (s *solver) rewatch(id int, c []lit) bool {
	for k := 2; k < len(c); k++ {
		if s.value[c[k]] >= 0 {
			c[1], c[k] = c[k], c[1]
			s.watch[c[1]] = append(s.watch[c[1]], id)
			return true
		}
	}
	return false
}

// learn adds the clause that says why a clause became false, goes back to where it sets a
// literal, and sets it.
func (s *solver) learn(bad int) {
	lits := []lit{0}
	open := 0 // marked literals of this level that are not replaced by their reasons yet
	at := len(s.trail)
	for id := bad; ; {
		for _, l := range s.clauses[id] {
			v := l >> 1
			if s.mark[v] || s.level[v] == 0 || s.value[l] > 0 {
				continue
			}
			s.mark[v] = true
			s.score[v] += s.bump
			if s.level[v] == len(s.limits) {
				open++
			} else {
				lits = append(lits, l)
			}
		}
		at--
		for !s.mark[s.trail[at]>>1] {
			at--
		}
		open--
		s.mark[s.trail[at]>>1] = false
		if open == 0 {
			break
		}
		id = s.reason[s.trail[at]>>1]
	}
	lits[0] = s.trail[at] ^ 1
	back := 0
	for k := 1; k < len(lits); k++ {
		v := lits[k] >> 1
		s.mark[v] = false
		if s.level[v] > back {
			back = s.level[v]
			lits[1], lits[k] = lits[k], lits[1]
		}
	}
	s.decay()
	s.undo(back)
	if len(lits) == 1 {
		s.assign(lits[0], -1)
		return
	}
	s.assign(lits[0], s.attach(lits))
}

// decay makes what was blamed lately count more.
func (s *solver) decay() {
	s.bump *= 1.05
	if s.bump > 1e20 {
		for v := range s.score {
			s.score[v] *= 1e-20
		}
		s.bump *= 1e-20
	}
}

func (s *solver) undo(level int) {
	if len(s.limits) <= level {
		return
	}
	for _, l := range s.trail[s.limits[level]:] {
		s.value[l], s.value[l^1] = 0, 0
	}
	s.trail = s.trail[:s.limits[level]]
	s.limits = s.limits[:level]
	s.head = len(s.trail)
}

// explain puts into the core the refuted assumption and those that refute it.
func (s *solver) explain(refuted lit) {
	s.core = []lit{refuted}
	if s.level[refuted>>1] == 0 {
		return
	}
	s.mark[refuted>>1] = true
	for at := len(s.trail) - 1; at >= s.limits[0]; at-- {
		l := s.trail[at]
		if !s.mark[l>>1] {
			continue
		}
		s.mark[l>>1] = false
		if s.reason[l>>1] < 0 {
			s.core = append(s.core, l)
			continue
		}
		for _, r := range s.clauses[s.reason[l>>1]] {
			if r != l && s.level[r>>1] > 0 {
				s.mark[r>>1] = true
			}
		}
	}
}
