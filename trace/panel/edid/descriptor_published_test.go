package edid

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
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
	pattern := `^(Alphanumeric|Display Product|Manufacturer-Spec|Empty Descriptor|Dummy Descriptor|Display Range Limits)`
	each(t, pattern, said, func(e *EDID) []string {
		var out []string
		for _, d := range e.Descriptors {
			switch {
			case e.Notebook != nil && d.Slot >= 3: // told as SPWG, see below
			case words[d.Tag] != "":
				out = append(out, fmt.Sprintf("%s: '%s'", words[d.Tag], plain(d.Text)))
			case d.Tag == tagRange:
				out = append(out, "Display Range Limits:")
			case d.Tag == tagDummy:
				out = append(out, "Dummy Descriptor:")
			case d.Tag == 0 && len(bytes.Trim(d.Data, "\x00")) == 0:
				out = append(out, "Empty Descriptor")
			case d.Tag < tagDummy:
				out = append(out, fmt.Sprintf("Manufacturer-Specified Display Descriptor (0x%02x): 00 %02x 00 % x", d.Tag, d.Tag, []byte(d.Data)))
			}
		}
		return out
	})
}

func TestRangeLimitsAsEdidDecode(t *testing.T) {
	formula := regexp.MustCompile(`Monitor ranges \(.*?\)`)
	said := func(d corpusDump) string { return formula.ReplaceAllString(baseOf(d), "Monitor ranges") }
	each(t, `^(Monitor ranges|Real max)`, said, func(e *EDID) []string {
		var out []string
		for _, d := range e.Descriptors {
			r := d.Range
			if r == nil {
				continue
			}
			// The clock of a CVT block is told in two steps: rounded up, then less an offset.
			rounded := math.Ceil(r.MaxClock/10e6) * 10
			line := fmt.Sprintf("Monitor ranges: %g-%g Hz V, %g-%g kHz H", r.MinRate, r.MaxRate, r.MinLineRate/1e3, r.MaxLineRate/1e3)
			if rounded > 0 {
				line += fmt.Sprintf(", max dotclock %g MHz", rounded)
			}
			out = append(out, line)
			if rounded != r.MaxClock/1e6 {
				out = append(out, fmt.Sprintf("Real max dotclock: %.2f MHz", r.MaxClock/1e6))
			}
		}
		return out
	})
}

func TestNotebookAsEdidDecode(t *testing.T) {
	each(t, `^(SPWG Manu|LVDS)`, baseOf, func(e *EDID) []string {
		if n := e.Notebook; n != nil {
			return []string{fmt.Sprintf("SPWG Manufacturer P/N: '%s'", n.Part), fmt.Sprintf("LVDS Channels: %d", n.LVDSChannels)}
		}
		return nil
	})
}
