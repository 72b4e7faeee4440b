//go:build !unix

package dotwasm

import "io/fs"

// checkOwner has nothing to check where mode bits mean nothing: on Windows the
// cache directory lies in the user's profile, which others cannot write to.
func checkOwner(fs.FileInfo, fs.FileMode) error { return nil }
