package bench

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestAppendNeverWritesOver lets something that asks for no hold change a case.
func TestAppendNeverWritesOver(t *testing.T) {
	const head = "board b\nreading A=1V\n"
	for name, c := range map[string]struct {
		change     func(name string) error
		want, told string
	}{
		"nothing": {func(string) error { return nil }, head + "reading A=2V\n", ""},
		"a line more": {func(name string) error {
			return os.WriteFile(name, []byte(head+"skip A\n"), 0o600)
		}, head + "skip A\n", "something else has written"},
		"another file": {func(name string) error {
			other := name + "2"
			if err := os.WriteFile(other, []byte(head), 0o600); err != nil {
				return err
			}
			return os.Rename(other, name)
		}, head, "another file stands where"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.case")
			file, err := Create(path, strings.Split(strings.TrimSpace(head), "\n"))
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			if err := c.change(path); err != nil {
				t.Fatal(err)
			}
			err = file.Append("reading A=2V")
			if (err == nil) != (c.told == "") || err != nil && !strings.Contains(err.Error(), c.told) {
				t.Errorf("it says %v, not %q", err, c.told)
			}
			if data, err := os.ReadFile(path); err != nil || string(data) != c.want {
				t.Errorf("the file holds %q, %v, not %q", data, err, c.want)
			}
		})
	}
}
