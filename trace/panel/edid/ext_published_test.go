package edid

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Source: edid-decode over testdata/corpus, as in decode_published_test.go.

// announced are the blocks that the base block counts; edid-decode tells of
// further ones in a dump too.
func announced(d corpusDump) string {
	return strings.Join(d.blocks[:min(len(d.blocks), 1+int(d.data[126]))], "\n")
}

func TestChecksumsAsEdidDecode(t *testing.T) {
	// Indented ones are those of DisplayID sections.
	count := 0
	for _, d := range readCorpus(t) {
		e := decoded(t, d.data)
		var want, got []bool
		for line := range strings.Lines(announced(d)) {
			if strings.HasPrefix(strings.TrimSpace(line), "Checksum: ") {
				want = append(want, !strings.Contains(line, "should be"))
			}
		}
		got = append(got, e.ChecksumOK)
		for _, x := range e.Extensions {
			if x.Tag == tagDisplayID {
				got = append(got, !x.SectionSumWrong)
			}
			got = append(got, x.ChecksumOK)
		}
		count += len(want)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: checksums right, edid-decode -, Decode +:\n%s", d.name, diff)
		}
	}
	if count < 70 {
		t.Errorf("%d checksums compared, want at least 70", count)
	}
}

func TestExtensionsAsEdidDecode(t *testing.T) {
	names := map[int]string{
		0x02: "CTA-861 Extension Block:", 0x70: "DisplayID Extension Block:", 0xF0: "Block Map Extension Block:",
		0x40: "Display Information Extension Block:", 0: "Unknown EDID Extension Block 0x00:",
	}
	each(t, `^(Extension blocks: |Block \d+, )`, announced, func(e *EDID) []string {
		out := []string{"Block 0, Base EDID:"}
		if e.ExtensionCount > 0 {
			out = append(out, fmt.Sprintf("Extension blocks: %d", e.ExtensionCount))
		}
		for _, x := range e.Extensions {
			out = append(out, fmt.Sprintf("Block %d, %s", x.Block, names[x.Tag]))
		}
		return out
	})
}

// TestNativeDepthCodes: edid-decode reads code 3 of DisplayID 2.x as 12 bits. Source
// here: the repository open-gpu-kernel-modules, displayid20.h (MIT), enum
// DISPLAYID_2_0_NATIVE_COLOR_DEPTH, made after VESA DisplayID 2.0.
func TestNativeDepthCodes(t *testing.T) {
	for code, want := range []int{0, 6, 8, 10, 12, 16} {
		p := make([]byte, 29)
		p[27] = byte(code)
		if got := parameters([]byte{0x21, 0, 29}, p).BitsPerColour; got != want {
			t.Errorf("code %d: %d bits a colour, want %d", code, got, want)
		}
	}
}

// TestDisplayIDAsEdidDecode compares the last size and depth of a section, its texts
// and its power sequence.
func TestDisplayIDAsEdidDecode(t *testing.T) {
	pattern := `^(Version: \d\.\d$|Image size: |Display native pixel|Dynamic bpc native|Power Sequence|Text: |DTD: .*preferred)`
	said := func(d corpusDump) string {
		if len(d.blocks) == 1 {
			return ""
		}
		var own []string
		for _, b := range d.blocks[1:min(len(d.blocks), 1+int(d.data[126]))] {
			if strings.Contains(b, "DisplayID Extension Block") {
				// A version further in is that of a vendor's block.
				b = regexp.MustCompile(`(?m)^    Version: .*$`).ReplaceAllString(b, "")
				own = append(own, regexp.MustCompile(`(?m)^ *DTD: +(\S+) .*preferred.*$`).ReplaceAllString(b, "DTD: $1 preferred"))
			}
		}
		return strings.Join(own, "\n")
	}
	compared := 0
	for _, d := range readCorpus(t) {
		want := linesLike(said(d), pattern)
		var got []string
		for _, x := range decoded(t, d.data).Extensions {
			if x.Tag == tagDisplayID {
				got = append(got, displayIDLines(x)...)
			}
		}
		slices.Sort(want)
		slices.Sort(got)
		compared += len(want)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: edid-decode -, Decode +:\n%s", d.name, diff)
		}
	}
	if compared < 20 {
		t.Errorf("%d lines compared, want at least 20", compared)
	}
}

func displayIDLines(x Extension) []string {
	out := []string{"Version: " + x.Version}
	if d := x.Parameters; d != nil {
		size := "Image size: %.1f mm x %.1f mm"
		if x.Version == "2.0" && d.WidthMM == 302 {
			size = "Image size: %.0f mm x %.0f mm" // stored in millimetres
		}
		out = append(out, fmt.Sprintf(size, d.WidthMM, d.HeightMM), fmt.Sprintf("Display native pixel format: %dx%d", d.Width, d.Height))
		if x.Version < "2" {
			out = append(out, fmt.Sprintf("Dynamic bpc native: %d", d.BitsPerColour))
		}
	}
	if s := x.Power; s != nil {
		ranges := func(name string, x Span) string {
			return fmt.Sprintf("Power Sequence %s Range: %.1f-%.1f ms", name, x.Min*1e3, x.Max*1e3)
		}
		least := func(name string, x Span) string {
			return fmt.Sprintf("Power Sequence %s Min: %.1f ms", name, x.Min*1e3)
		}
		out = append(out, ranges("T1", s.T1), ranges("T2", s.T2), ranges("T3", s.T3), least("T4", s.T4), least("T5", s.T5), least("T6", s.T6))
	}
	for _, text := range x.Texts {
		out = append(out, fmt.Sprintf("Text: '%s'", text))
	}
	for _, t := range x.Timings {
		if t.Preferred {
			out = append(out, fmt.Sprintf("DTD: %dx%d preferred", t.H.Active, t.V.Active))
		}
	}
	return out
}
