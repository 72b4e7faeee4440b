package edid

import (
	"fmt"
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
	words := map[string]string{
		"text": "Alphanumeric Data String", "name": "Display Product Name", "serial": "Display Product Serial Number",
	}
	// A blank before the closing quote pads; Decode leaves it away.
	said := func(d corpusDump) string { return regexp.MustCompile(` +'\n`).ReplaceAllString(baseOf(d), "'\n") }
	each(t, `^(Alphanumeric|Display Product)`, said, func(e *EDID) []string {
		var out []string
		for _, d := range e.Descriptors {
			if e.Notebook == nil || d.Slot < 3 { // told as SPWG, see below
				out = append(out, fmt.Sprintf("%s: '%s'", words[d.Name], plain(d.Text)))
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
