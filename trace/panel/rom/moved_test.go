package rom

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/trace/panel/edid"
)

// checkRepair wants the whole memory back, of which the first known bytes came
// through: one lost byte follows from the sum, more do not.
func checkRepair(t *testing.T, got Finding, cells []byte, known int) {
	t.Helper()
	need := 128 * min(1+int(cells[126]), len(cells)/128)
	var want Image
	if known >= need-1 {
		want = cells[:need]
	}
	if diff := cmp.Diff(want, got.Repaired); diff != "" {
		t.Errorf("%s, %d of %d bytes known: %s", got.Where, known, need, diff)
	}
	if said := strings.Contains(got.Says, "computed from the sum"); said != (known == need-1) {
		t.Errorf("%s, %d of %d bytes known: %s", got.Where, known, need, got.Says)
	}
}

func TestLateStart(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for _, late := range []int{1, 2, 40, 100} {
			got := first(t, append(bytes.Repeat([]byte{0xA5}, late), cells[:len(cells)-late]...))
			if got.Pattern != Shifted || !got.Certain {
				t.Errorf("%d: %s", late, got.Pattern)
			}
			checkRepair(t, got, cells, len(cells)-late)
		}
	})
}

// Eight bytes like the header near the end are not certain to be one.
func TestHeaderNearTheEnd(t *testing.T) {
	b := bytes.Repeat([]byte{0x41, 0x7C, 0x13}, 43)[:128]
	copy(b[112:], edid.Header())
	for _, f := range Diagnose(b, nil) {
		if f.Certain || len(f.Repaired) > 0 {
			t.Errorf("%s (%s): certain %v, %d bytes", f.Pattern, f.Where, f.Certain, len(f.Repaired))
		}
	}
}

func TestEmptyExtension(t *testing.T) {
	for name, b := range usuals(t) {
		base := bytes.Clone(b[:128])
		base[127] += base[126] - 1 // the sum stays 0
		base[126] = 1
		for _, value := range []byte{0, 0xFF} {
			list := Diagnose(append(bytes.Clone(base), bytes.Repeat([]byte{value}, 128)...), nil)
			if len(list) != 1 || list[0].Pattern != HalfRead || list[0].Where != "from byte 0x80 on" || list[0].Certain != (value == 0xFF) {
				t.Errorf("%s, %02X: %s", name, value, names(list))
			}
		}
	}
}
