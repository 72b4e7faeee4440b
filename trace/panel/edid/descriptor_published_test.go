package edid

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// Source: edid-decode over testdata/corpus, as in decode_published_test.go.

// plain is the part of a text before the first byte that edid-decode does not
// print, where it cuts; blanks as linesLike leaves them.
func plain(text string) string {
	text, _, _ = strings.Cut(text, `\x`)
	return strings.Join(strings.Fields(text), " ")
}

func TestDescriptorsAsEdidDecode(t *testing.T) {
	words := map[int]string{
		tagText: "Alphanumeric Data String", tagName: "Display Product Name", tagSerial: "Display Product Serial Number",
	}
	said := func(d corpusDump) string {
		// A blank before the closing quote pads; Decode leaves it away.
		text := regexp.MustCompile(` +'\n`).ReplaceAllString(baseOf(d), "'\n")
		// The bytes of a descriptor are followed by their letters.
		return regexp.MustCompile(`(?m)(Descriptor \(0x..\):(?: [0-9a-f]{2})+) '.*$`).ReplaceAllString(text, "$1")
	}
	pattern := `^(Alphanumeric|Display Product|Manufacturer-Spec|Empty Descriptor|Dummy Descriptor|Color Point|Display Range Limits)`
	each(t, pattern, said, func(e *EDID) []string {
		var out []string
		for _, d := range e.Descriptors {
			switch {
			case e.Notebook != nil && d.Slot >= 3: // told as SPWG, see below
			case words[d.Tag] != "":
				out = append(out, fmt.Sprintf("%s: '%s'", words[d.Tag], plain(d.Text)))
			case d.Tag == tagRange:
				out = append(out, "Display Range Limits:")
			case d.Tag == tagColour:
				out = append(out, "Color Point Data:")
			case d.Tag == tagDummy:
				out = append(out, "Dummy Descriptor:")
			case d.Tag == 0 && allZero(d.Data):
				out = append(out, "Empty Descriptor")
			case d.Tag < tagDummy:
				out = append(out, fmt.Sprintf("Manufacturer-Specified Display Descriptor (0x%02x): 00 %02x 00 % x", d.Tag, d.Tag, []byte(d.Data)))
			}
		}
		return out
	})
}

func TestRangeLimitsAsEdidDecode(t *testing.T) {
	names := map[string]string{"default GTF": "GTF", "bare limits": "Bare Limits", "secondary GTF": "Secondary GTF", "CVT": "CVT"}
	each(t, `^(Monitor ranges|Real max|Max active)`, baseOf, func(e *EDID) []string {
		var out []string
		for _, d := range e.Descriptors {
			r := d.Range
			if r == nil {
				continue
			}
			// The clock of a CVT block is told in two steps: rounded up, then less an offset.
			rounded := math.Ceil(r.MaxClock/10e6) * 10
			line := fmt.Sprintf("Monitor ranges (%s): %g-%g Hz V, %g-%g kHz H", names[r.Formula],
				r.MinRate, r.MaxRate, r.MinLineRate/1e3, r.MaxLineRate/1e3)
			if rounded > 0 {
				line += fmt.Sprintf(", max dotclock %g MHz", rounded)
			}
			out = append(out, line)
			if rounded != r.MaxClock/1e6 {
				out = append(out, fmt.Sprintf("Real max dotclock: %.2f MHz", r.MaxClock/1e6))
			}
			if r.MaxActive > 0 {
				out = append(out, fmt.Sprintf("Max active pixels per line: %d", r.MaxActive))
			}
		}
		return out
	})
}

// TestResolutionsAsEdidDecode compares sizes and rounded rates. edid-decode tells
// a standard timing that is in no list twice for EDID 1.4, by CVT and by GTF; the
// second is left out. It gives the exact rate of each, as much as 0.9 Hz off the
// nominal one (72.81 Hz of 640x480 at 72 Hz, in VESA DMT). Its list of codes takes
// 61 4C for the 70 Hz of 1024x768, where the bits say 72 Hz (VESA E-EDID A.2, section
// 3.9: 60 more than the low six bits, 12); that one is let pass.
func TestResolutionsAsEdidDecode(t *testing.T) {
	re := regexp.MustCompile(`(\d+)x(\d+)(i?) +([\d.]+) Hz`)
	compared := 0
	for _, d := range readCorpus(t) {
		e := decoded(t, d.data)
		text, _, _ := strings.Cut(baseOf(d), "Detailed Timing Descriptors")
		_, text, _ = strings.Cut(text, "Established Timings")
		text = regexp.MustCompile(`(?m)^.*EDID 1.3 source.*$`).ReplaceAllString(text, "")
		_, further, _ := strings.Cut(baseOf(d), "Standard Timing Identifications")
		want := re.FindAllStringSubmatch(text, -1)
		ours := append(append([]Resolution(nil), e.Established...), e.Standard...)
		for _, x := range e.Descriptors {
			if x.Standard != nil {
				ours = append(ours, x.Standard...)
				want = append(want, re.FindAllStringSubmatch(further, -1)...)
			}
		}
		if len(want) != len(ours) {
			t.Errorf("%s: %d resolutions, edid-decode has %d", d.name, len(ours), len(want))
			continue
		}
		for i, m := range want {
			r := ours[i]
			rate, _ := strconv.ParseFloat(m[4], 64)
			if r == (Resolution{Width: 1024, Height: 768, Rate: 72}) {
				rate += 2
			}
			if fmt.Sprint(r.Width, r.Height) != m[1]+" "+m[2] || r.Interlaced != (m[3] == "i") || math.Abs(rate-r.Rate) > 0.9 {
				t.Errorf("%s: %v, edid-decode has %s", d.name, r, m[0])
			}
			compared++
		}
	}
	if compared < 100 {
		t.Errorf("%d resolutions compared, want at least 100", compared)
	}
}

func TestNotebookAsEdidDecode(t *testing.T) {
	each(t, `^(SPWG (Module|PC|LCD|Manu)|SMBUS|LVDS|Panel Self)`, baseOf, func(e *EDID) []string {
		n := e.Notebook
		if n == nil {
			return nil
		}
		test := "Not Present"
		if n.SelfTest {
			test = "Present"
		}
		values := ""
		for _, v := range n.Brightness {
			values += fmt.Sprintf(" 0x%02x", v)
		}
		return []string{
			fmt.Sprintf("SPWG Module Revision: %d", n.ModuleRevision),
			fmt.Sprintf("SPWG PC Maker P/N: '%s'", n.PCMakerPart),
			fmt.Sprintf("SPWG LCD Supplier EEDID Revision: %d", n.SupplierRev),
			fmt.Sprintf("SPWG Manufacturer P/N: '%s'", n.Part),
			"SMBUS Values:" + values,
			fmt.Sprintf("LVDS Channels: %d", n.LVDSChannels),
			"Panel Self Test " + test,
		}
	})
}
