package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// jsonSamples are commands that print, between them, every key of every format.
var jsonSamples = []string{
	"trace larkspur13 dark --json",
	"trace larkspur13 VBL=36V --json",
	"trace siskin15 LIGHT=no VBL=16.4V B.2=quiet EDID=read PICTURE=seen --json",
	"trace larkspur13 LIGHT=no --state lid=shut --json",
	"trace siskin15 --panel 1366x768@60,bits=18,channels=1 COLOUR=no --json",
	"trace larkspur13 fuse --json",
	"probe larkspur13 dark --json",
	"probe teasel14 fuse --json",
	"probe larkspur13 dark --order walk --json",
	"probe larkspur13 VBL=ohms:0.1 --json",
	"probe siskin15 --panel 1366x768@60,bits=18,channels=1 tint --order walk --json",
	"narrow larkspur13 VBL=0V VBL_F=0V VBL=ohms:0.1 --json",
	"narrow larkspur13 dark --history liquid --json",
	"narrow larkspur13 dark VBL=ohms:8 --json",
	"narrow larkspur13 dark VBL=12.2V BL_EN=3.3V BL_PWM=2.3V --json",
	"narrow siskin15 EDID=unread ID_DAT_J=16.8V --json",
	"narrow larkspur13 LIGHT=no F3=OL VBL=ohms:40k VBL_SW=ohms:38k --json",
	"narrow teasel14 VBL_F=0V F3=OL --json",
	"narrow siskin15 LIGHT=no VBL=16.4V B.2=quiet EDID=read PICTURE=seen --json",
	"narrow siskin15 --panel 1366x768@60,bits=18,channels=1 COLOUR=no --json",
	"predict larkspur13 --json",
	"predict larkspur13 --fault C34:short --json",
	"predict siskin15 --panel 1366x768@60,bits=18,channels=1 --json",
	"predict larkspur13 --faults --json",
	"predict siskin15 --faults --panel 1366x768@60,bits=18,channels=1 --json",
	"predict larkspur13 --stages V3_ID=ok EDID=unread --json",
	"predict larkspur13 --stages --fault F3:open --json",
	"predict siskin15 --stages --panel 1366x768@60,bits=18,channels=1 --json",
	"check testdata/readme/broken.board --json",
	"panel edid testdata/readme/shifted.txt --board larkspur13 --json",
	"panel edid siskin15 --compare larkspur13 --json",
	"panel edid trace/panel/testdata/torn.txt --json",
	"panel edid trace/panel/testdata/odd.hex --json",
	"panel edid trace/panel/testdata/overrun.hex --json",
	"panel edid trace/panel/edid/testdata/corpus/002.hex --json",
	"panel edid trace/panel/edid/testdata/corpus/008.hex --json",
	"panel edid trace/panel/edid/testdata/corpus/902.hex --json",
	"panel edid trace/panel/edid/testdata/corpus/903.hex --json",
	"panel edid trace/panel/edid/testdata/corpus/906.hex --json",
	"panel edid trace/panel/edid/testdata/corpus/908.hex --json",
	"panel link 1366x768@48 --json",
	"panel link teasel14 --json",
	"panel link trace/panel/testdata/odd.hex --json",
	"panel link 1366x768@60,bits=18,channels=1 --board siskin15 --json",
	"panel link 1366x768@60,bits=18 --board teasel14 --json",
	"panel link 1366x768@60,bits=24,link=lvds --board larkspur13 --json",
	"panel view missing A.0 --board larkspur13 --json",
	"panel view missing A.2 --map vesa --json",
	"panel view --looks white=cyan,black=black,columns=odd --channels 2 --json",
	"panel view --looks columns=odd,white=green --channels 1 --json",
	"panel view --looks white=cyan --json",
	"panel order edp supply=0 hpd=never light=200ms T12=100ms --board teasel14 --json",
	"panel order lvds supply=0 supply-off=-5ms T5=30ms --json",
}

// TestJSONIsDocumented compares what the samples print with JSON.md: every key
// that is printed is documented, and every key that is documented is printed.
func TestJSONIsDocumented(t *testing.T) {
	t.Chdir("../..")
	documented := documentedKeys(t)
	printed := map[string]map[string]string{}
	for _, line := range jsonSamples {
		var out, diag bytes.Buffer
		if status := run(context.Background(), strings.Fields(line), strings.NewReader(""), &out, &diag); status == exitUsage {
			t.Errorf("walkback %s: %s", line, diag.String())
			continue
		}
		var v map[string]any
		if err := json.Unmarshal(out.Bytes(), &v); err != nil {
			t.Errorf("walkback %s: %v", line, err)
			continue
		}
		format := fmt.Sprintf("%v, version %v", v["format"], v["version"])
		if printed[format] == nil {
			printed[format] = map[string]string{}
		}
		collectKeys("", v, func(key string) { printed[format][key] = line })
	}
	for format, keys := range printed {
		if documented[format] == nil {
			t.Errorf("%s is not documented", format)
			continue
		}
		used := map[string]bool{}
		for _, key := range slices.Sorted(maps.Keys(keys)) {
			pattern, ok := matchKey(documented[format], key)
			if !ok {
				t.Errorf("%s: %s is printed by %s and not documented", format, key, keys[key])
			}
			used[pattern] = true
		}
		for _, pattern := range documented[format] {
			if !used[pattern] {
				t.Errorf("%s: %s is documented and printed by no sample", format, pattern)
			}
		}
	}
	for format := range documented {
		if printed[format] == nil {
			t.Errorf("%s is documented and printed by no sample", format)
		}
	}
}

// collectKeys calls each for every key inside v, written as a path.
func collectKeys(path string, v any, each func(string)) {
	switch v := v.(type) {
	case map[string]any:
		for name, x := range v {
			key := strings.TrimPrefix(path+"."+name, ".")
			each(key)
			collectKeys(key, x, each)
		}
	case []any:
		for _, x := range v {
			collectKeys(path+"[]", x, each)
		}
	}
}

// matchKey finds the documented key that a printed one is.
func matchKey(documented []string, key string) (string, bool) {
	if slices.Contains(documented, key) {
		return key, true
	}
	if i := strings.LastIndexByte(key, '.'); i >= 0 && slices.Contains(documented, key[:i]+".*") {
		return key[:i] + ".*", true
	}
	return "", false
}

var (
	formatHead = regexp.MustCompile("(?m)^## `([a-z.-]+)`, version ([0-9]+)$")
	codeSpan   = regexp.MustCompile("`([^`]+)`")
	braces     = regexp.MustCompile(`^(.*?)\{([^}]+)\}(.*)$`)
)

// documentedKeys reads the tables of JSON.md, by format.
func documentedKeys(t *testing.T) map[string][]string {
	t.Helper()
	data, err := os.ReadFile("cmd/walkback/JSON.md")
	if err != nil {
		t.Fatal(err)
	}
	keys := map[string][]string{}
	format := ""
	for line := range strings.Lines(string(data)) {
		if m := formatHead.FindStringSubmatch(strings.TrimSpace(line)); m != nil {
			format = m[1] + ", version " + m[2]
			continue
		}
		cells := strings.Split(line, "|")
		if format == "" || len(cells) != 4 {
			continue
		}
		for _, m := range codeSpan.FindAllStringSubmatch(cells[1], -1) {
			keys[format] = append(keys[format], expandBraces(m[1])...)
		}
	}
	if len(keys) < 6 {
		t.Fatalf("JSON.md documents %d formats", len(keys))
	}
	return keys
}

// expandBraces turns a{b,c}d into abd and acd.
func expandBraces(s string) []string {
	m := braces.FindStringSubmatch(s)
	if m == nil {
		return []string{s}
	}
	var list []string
	for word := range strings.SplitSeq(m[2], ",") {
		list = append(list, expandBraces(m[1]+word+m[3])...)
	}
	return list
}
