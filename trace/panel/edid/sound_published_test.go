package edid

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// A read is sound where edid-decode (the version of decode_published_test.go) finds no
// sum that "should be" another, of blocks and of DisplayID sections. All dumps of the
// corpus have their header and what they announce; two were made with a wrong sum.
func TestSoundAsEdidDecode(t *testing.T) {
	bad := 0
	for _, d := range readCorpus(t) {
		want := !strings.Contains(announced(d), "(should be")
		if !want {
			bad++
		}
		if got := Sound(d.data); got != want {
			t.Errorf("%s: Sound %v, edid-decode %v", d.name, got, want)
		}
		if right := strings.HasPrefix(verdictOf(t, d.data), "Header and sums are right"); right != want {
			t.Errorf("%s: %s", d.name, verdictOf(t, d.data))
		}
	}
	if bad != 2 {
		t.Errorf("%d dumps with a wrong sum, want 901 and 902", bad)
	}
}

// Makers write the diagonal into the part number of a panel, in tenths of an inch
// behind the letters, as in a 15.6 inch N156...: common practice, no source. The
// numbers are those that the dumps of the data set (testdata/corpus/README.md) tell.
func TestDiagonalAsThePartNumber(t *testing.T) {
	part := regexp.MustCompile(`^(?:B|G|M|N|NE|HB|LD|LP|LQ|LTN)([01][0-9]{2}|2[0-9]{2})[A-Z]`)
	shown := regexp.MustCompile(`(?m)^size .*diagonal ([0-9.]+) inch$`)
	count := 0
	for _, d := range readCorpus(t) {
		want := 0.0
		for _, x := range decoded(t, d.data).Descriptors {
			if m := part.FindStringSubmatch(x.Text); m != nil {
				tenths, err := strconv.Atoi(m[1])
				if err != nil {
					t.Fatal(err)
				}
				want = float64(tenths) / 10
			}
		}
		if want == 0 {
			continue
		}
		count++
		m := shown.FindStringSubmatch(render(t, d.data))
		if m == nil {
			t.Errorf("%s: no size in the text", d.name)
			continue
		}
		got, err := strconv.ParseFloat(m[1], 64)
		// Whole centimetres in both directions are off by up to 0.3 inch.
		if err != nil || math.Abs(got-want) > 0.35 {
			t.Errorf("%s: %v inch (%v), the part number says %g", d.name, m[1], err, want)
		}
	}
	if count < 20 {
		t.Errorf("only %d part numbers with a diagonal", count)
	}
}

// The first size in the text never is larger than what edid-decode gives as the size
// of the display by more than a step of it.
func TestSizeFitsTheDisplay(t *testing.T) {
	said := regexp.MustCompile(`Maximum image size: ([0-9]+) cm x ([0-9]+) cm`)
	shown := regexp.MustCompile(`(?m)^size +([0-9]+) x ([0-9]+) mm`)
	count := 0
	for _, d := range readCorpus(t) {
		cm, mm := said.FindStringSubmatch(baseOf(d)), shown.FindStringSubmatch(render(t, d.data))
		if cm == nil {
			continue
		}
		count++
		var n [4]int
		if _, err := fmt.Sscan(strings.Join(append(cm[1:], mm[1:]...), " "), &n[0], &n[1], &n[2], &n[3]); err != nil {
			t.Fatalf("%s: %v", d.name, err)
		}
		if n[2] > 10*n[0]+10 || n[3] > 10*n[1]+10 {
			t.Errorf("%s: %d x %d mm on a display of %d x %d cm", d.name, n[2], n[3], n[0], n[1])
		}
	}
	if count < 50 {
		t.Errorf("only %d sizes", count)
	}
}
