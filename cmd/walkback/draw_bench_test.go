package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Targets: any command starts and ends within 60 ms, and draws one of these pictures as SVG within 150 ms, warm. Whole
// processes are timed, with the layout library's init; cpu-ms is what they used of a processor, which on a machine
// with other work to do says more than the time on the wall.
func BenchmarkProcess(b *testing.B) {
	dir := b.TempDir()
	binary := filepath.Join(dir, "walkback")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	for _, line := range []string{
		"boards", "trace larkspur13 dark",
		"draw larkspur13 dark -o x.svg", "draw siskin15 dark -o x.svg", "draw teasel14 dark -o x.svg",
		"draw siskin15 dark -o x.pdf", "draw siskin15 dark -o x.png",
	} {
		b.Run(strings.NewReplacer(" -o x.", "_", " ", "_").Replace(line), func(b *testing.B) {
			var used float64
			for b.Loop() {
				cmd := exec.Command(binary, strings.Fields(line)...)
				cmd.Dir, cmd.Env = dir, os.Environ()
				if out, err := cmd.CombinedOutput(); err != nil {
					b.Fatalf("%v\n%s", err, out)
				}
				used += (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds()
			}
			b.ReportMetric(1000*used/float64(b.N), "cpu-ms")
		})
	}
}
