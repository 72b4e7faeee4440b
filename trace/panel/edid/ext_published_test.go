package edid

import (
	"fmt"
	"regexp"
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
			if x.DisplayID != nil {
				got = append(got, x.DisplayID.ChecksumOK)
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
	names := map[string]string{
		"CTA-861": "CTA-861 Extension Block:", "DisplayID": "DisplayID Extension Block:",
		"block map": "Block Map Extension Block:", "display information": "Display Information Extension Block:",
		"unknown": "Unknown EDID Extension Block 0x00:",
	}
	each(t, `^(Extension blocks: |Block \d+, |Block \d+: )`, announced, func(e *EDID) []string {
		out := []string{"Block 0, Base EDID:"}
		if e.ExtensionCount > 0 {
			out = append(out, fmt.Sprintf("Extension blocks: %d", e.ExtensionCount))
		}
		for _, x := range e.Extensions {
			out = append(out, fmt.Sprintf("Block %d, %s", x.Block, names[x.Name]))
			for i, tag := range x.Map {
				out = append(out, fmt.Sprintf("Block %d: %s", x.Block+1+i, strings.TrimSuffix(names[extensionName(byte(tag))], ":")))
			}
		}
		return out
	})
}

func TestCTAAsEdidDecode(t *testing.T) {
	pattern := `^(Revision: |Underscans|Basic audio|Supports YCbCr 4:[24]:[24]$|Native detailed|VIC +\d+:|` +
		`(Linear PCM|AC-3|DTS|DTS-HD|AAC LC|MAT \(MLP\)|Enhanced AC-3 \(DD\+\)):$|Max channels|xvYCC|sYCC|op[YR]|BT2020|Default$|sRGB$|ICtCp|ST2113|` +
		`Traditional gamma|SMPTE ST2084$|Hybrid|Desired content m|Supported sample)`
	said := func(d corpusDump) string {
		// The capability map repeats VICs of the video block, by their places in it.
		return regexp.MustCompile(`(?m)^  YCbCr 4:2:0 Capability Map.*\n(    VIC.*\n)*`).ReplaceAllString(announced(d), "")
	}
	each(t, pattern, func(d corpusDump) string { return cutVIC(said(d)) }, func(e *EDID) []string {
		var out []string
		for _, x := range e.Extensions {
			if x.CTA != nil {
				out = append(out, ctaLines(x.CTA)...)
			}
		}
		return out
	})
}

// cutVIC leaves of the line of a VIC its number and whether it is native.
func cutVIC(text string) string {
	return regexp.MustCompile(`(?m)^ *(VIC +\d+:).*?( \(native\))?$`).ReplaceAllString(text, "$1$2")
}

func ctaLines(c *CTA) []string {
	out := []string{fmt.Sprintf("Revision: %d", c.Version)}
	for _, f := range []struct {
		on   bool
		line string
	}{
		{c.Underscan, "Underscans IT Video Formats by default"}, {c.Audio, "Basic audio support"},
		{c.YCbCr444, "Supports YCbCr 4:4:4"}, {c.YCbCr422, "Supports YCbCr 4:2:2"},
	} {
		if f.on {
			out = append(out, f.line)
		}
	}
	out = append(out, fmt.Sprintf("Native detailed modes: %d", c.NativeDTDs))
	for _, b := range c.Blocks {
		out = append(out, ctaBlockLines(b)...)
	}
	return out
}

func ctaBlockLines(b CTABlock) []string {
	names := map[string]string{
		"linear PCM": "Linear PCM:", "enhanced AC-3": "Enhanced AC-3 (DD+):", "MAT": "MAT (MLP):",
		"traditional gamma SDR": "Traditional gamma - SDR luminance range",
		"traditional gamma HDR": "Traditional gamma - HDR luminance range",
		"SMPTE ST 2084":         "SMPTE ST2084", "hybrid log-gamma": "Hybrid Log-Gamma",
	}
	var out []string
	for _, v := range b.VICs {
		line := fmt.Sprintf("VIC %d:", v.Code)
		if v.Native {
			line += " (native)"
		}
		out = append(out, line)
	}
	for _, a := range b.Audio {
		name := names[a.Format]
		if name == "" {
			name = a.Format + ":"
		}
		out = append(out, name, fmt.Sprintf("Max channels: %d", a.Channels), "Supported sample rates (kHz):"+fallingRates(a.SampleRates))
		if a.Format == "linear PCM" {
			line := "Supported sample sizes (bits):"
			for i := len(a.SampleBits) - 1; i >= 0; i-- {
				line += fmt.Sprintf(" %d", a.SampleBits[i])
			}
			out = append(out, line)
		}
	}
	for _, name := range b.Colorimetry {
		if name == "default RGB" {
			name = "Default"
		}
		out = append(out, name)
	}
	if h := b.HDR; h != nil {
		for _, name := range h.EOTFs {
			out = append(out, names[name])
		}
		for _, v := range []struct {
			name string
			at   int
			n    float64
		}{{"max luminance", 2, h.MaxLuminance}, {"max frame-average luminance", 3, h.MaxAverage}, {"min luminance", 4, h.MinLuminance}} {
			if v.n > 0 {
				out = append(out, fmt.Sprintf("Desired content %s: %d (%.3f cd/m^2)", v.name, b.Data[v.at], v.n))
			}
		}
	}
	return out
}

func fallingRates(rates []int) string {
	out := ""
	for i := len(rates) - 1; i >= 0; i-- {
		out += fmt.Sprintf(" %g", float64(rates[i])/1e3)
	}
	return out
}

func TestCTABlockNamesAsEdidDecode(t *testing.T) {
	names := map[string]string{
		"audio": "Audio Data Block", "video": "Video Data Block", "speakers": "Speaker Allocation Data Block",
		"HDMI": "Vendor-Specific Data Block (HDMI)", "HDMI Forum": "Vendor-Specific Data Block (HDMI Forum)",
		"vendor specific": "Vendor-Specific Data Block", "vendor specific video": "Vendor-Specific Video Data Block",
		"colorimetry": "Colorimetry Data Block", "HDR static metadata": "HDR Static Metadata Data Block",
		"video capability": "Video Capability Data Block", "YCbCr 4:2:0 capability map": "YCbCr 4:2:0 Capability Map Data Block",
		"YCbCr 4:2:0 video": "YCbCr 4:2:0 Video Data Block", "DisplayID type VII timing": "DisplayID Type VII Video Timing Data Block",
	}
	// Other vendors are named in brackets, which Decode does not.
	said := func(d corpusDump) string {
		text := regexp.MustCompile(` \((AMD|Dolby)\)`).ReplaceAllString(announced(d), "")
		return regexp.MustCompile(`(?m)^  CTA-861 DisplayID Data Block:\n|^  Dynamic Video.*\n`).ReplaceAllString(text, "")
	}
	pattern := `^(Video Data Block|DisplayID Type VII Video|(Audio|Video Capability|Speaker|Vendor-Specific|Colorimetry|HDR|YCbCr 4:2:0).* Data Block)`
	each(t, pattern, said, func(e *EDID) []string {
		var blocks []CTABlock
		for _, x := range e.Extensions {
			if x.CTA != nil {
				blocks = append(blocks, x.CTA.Blocks...)
			}
			if x.DisplayID != nil {
				for _, b := range x.DisplayID.Blocks {
					blocks = append(blocks, b.CTA...)
				}
			}
		}
		var out []string
		for _, b := range blocks {
			line := names[b.Name]
			if b.OUI != "" {
				line += ", OUI " + b.OUI
			}
			out = append(out, line+":")
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
		if got := parametersV2(0, p).BitsPerColour; got != want {
			t.Errorf("code %d: %d bits a colour, want %d", code, got, want)
		}
	}
}

func TestDisplayIDAsEdidDecode(t *testing.T) {
	names := map[int]string{
		0x01: "Display Parameters Data Block (0x01):", 0x03: "Video Timing Modes Type 1 - Detailed Timings Data Block:",
		0x0B: "GP ASCII String Data Block:", 0x0D: "Interface Power Sequencing Data Block:",
		0x21: "Display Parameters Data Block (0x21):", 0x22: "Video Timing Modes Type 7 - Detailed Timings Data Block:",
		0x25: "Dynamic Video Timing Range Limits Data Block:", 0x81: "CTA-861 DisplayID Data Block:",
	}
	pattern := `^(Version: \d\.\d$|Extension Count|Display Parameters|Video Timing Modes|GP ASCII|Interface Power|Dynamic Video|` +
		`CTA-861 DisplayID|Image size: |Display native pixel|Dynamic bpc native|Power Sequence|Text: |DTD: .*preferred)`
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
	each(t, pattern, said, func(e *EDID) []string {
		var out []string
		for _, x := range e.Extensions {
			if d := x.DisplayID; d != nil {
				out = append(out, fmt.Sprintf("Version: %d.%d", d.Version, d.Revision), fmt.Sprintf("Extension Count: %d", d.Extensions))
				for _, b := range d.Blocks {
					out = append(append(out, names[b.Tag]), displayIDLines(b)...)
				}
			}
		}
		return out
	})
}

func displayIDLines(b DisplayIDBlock) []string {
	var out []string
	if d := b.Parameters; d != nil {
		size := "Image size: %.1f mm x %.1f mm"
		if b.Tag == 0x21 && d.WidthMM == 302 {
			size = "Image size: %.0f mm x %.0f mm" // stored in millimetres
		}
		out = append(out, fmt.Sprintf(size, d.WidthMM, d.HeightMM), fmt.Sprintf("Display native pixel format: %dx%d", d.Width, d.Height))
		if b.Tag == 0x01 {
			out = append(out, fmt.Sprintf("Dynamic bpc native: %d", d.BitsPerColour))
		}
	}
	if s := b.Power; s != nil {
		ranges := func(name string, x Span) string {
			return fmt.Sprintf("Power Sequence %s Range: %.1f-%.1f ms", name, x.Min*1e3, x.Max*1e3)
		}
		least := func(name string, x Span) string {
			return fmt.Sprintf("Power Sequence %s Min: %.1f ms", name, x.Min*1e3)
		}
		out = append(out, ranges("T1", s.T1), ranges("T2", s.T2), ranges("T3", s.T3), least("T4", s.T4), least("T5", s.T5), least("T6", s.T6))
	}
	if b.Text != "" {
		out = append(out, fmt.Sprintf("Text: '%s'", b.Text))
	}
	for _, t := range b.Timings {
		if t.Preferred {
			out = append(out, fmt.Sprintf("DTD: %dx%d preferred", t.H.Active, t.V.Active))
		}
	}
	return out
}

func TestSpeakersAsEdidDecode(t *testing.T) {
	short := map[string]string{
		"front left and right": "FL/FR", "low frequency 1": "LFE1", "front centre": "FC", "back left and right": "BL/BR",
		"back centre": "BC", "front left and right of centre": "FLc/FRc", "rear left and right of centre": "RLC/RRC",
		"front wide": "FLw/FRw", "top front left and right": "TpFL/TpFR", "top centre": "TpC", "top front centre": "TpFC",
		"left and right surround": "LS/RS", "low frequency 2": "LFE2", "top back centre": "TpBC", "side left and right": "SiL/SiR",
		"top side left and right": "TpSiL/TpSiR", "top back left and right": "TpBL/TpBR", "bottom front centre": "BtFC",
		"bottom front left and right": "BtFL/BtFR", "top left and right surround": "TpLS/TpRS",
	}
	said := func(d corpusDump) string {
		return regexp.MustCompile(`(?m)^    ([A-Z][\w/]+) - .*$`).ReplaceAllString(announced(d), "speaker $1")
	}
	each(t, `^speaker `, said, func(e *EDID) []string {
		var out []string
		for _, x := range e.Extensions {
			if x.CTA == nil {
				continue
			}
			for _, b := range x.CTA.Blocks {
				for _, name := range b.Speakers {
					out = append(out, "speaker "+short[name])
				}
			}
		}
		return out
	})
}
