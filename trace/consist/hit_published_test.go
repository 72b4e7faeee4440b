package consist

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// all stands for no limit on the size of the sets asked for.
const all = math.MaxInt

func TestPublishedHittingSets(t *testing.T) {
	const a, b, c, d = 1, 2, 3, 4
	for _, row := range []struct {
		name string
		sets [][]int
		want [][]int
	}{
		// R. Reiter, Artificial Intelligence 32 (1987), the example of the HS-tree; from
		// memory, worked out again.
		{
			"Reiter",
			[][]int{{2, 4, 5}, {1, 2, 3}, {1, 3, 5}, {2, 4, 6}, {2, 4}, {2, 3, 5}, {1, 6}},
			[][]int{{1, 2}, {1, 3, 4}, {1, 4, 5}, {2, 3, 6}, {2, 5, 6}, {3, 4, 6}},
		},
		// R. Greiner, B. A. Smith and R. W. Wilkerson, "A correction to the algorithm in
		// Reiter's theory of diagnosis", Artificial Intelligence 41 (1989) 79-88: Reiter's
		// pruning loses one of the two. From memory, worked out again.
		{
			"Greiner, Smith and Wilkerson",
			[][]int{{a, b}, {b, c}, {a, c}, {b, d}, {b}},
			[][]int{{a, b}, {b, c}},
		},
	} {
		if diff := cmp.Diff(row.want, hittingSets(row.sets, all)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, diff)
		}
	}
}
