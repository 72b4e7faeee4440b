// Package start holds the garbage collector back while a command is small.
//
// Most commands end within 50 ms and 50 MB, of which collecting took a fifth: the layout library alone allocates 4 MB
// before main begins. So nothing is collected until the program has 64 MiB; from then on the collector works as always,
// since a board of a million parts must not cost five times its size.
package start

import (
	"math"
	"os"
	"runtime"
	"runtime/debug"
)

const small = 64 << 20 // bytes

func init() {
	// Who sets these variables knows better.
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(-1)
	debug.SetMemoryLimit(small)
	// The first collection finds the sentinel gone.
	sentinel := new([64]byte)
	runtime.AddCleanup(sentinel, func(int) {
		debug.SetGCPercent(100)
		debug.SetMemoryLimit(math.MaxInt64)
	}, 0)
}
