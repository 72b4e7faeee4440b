//go:build !unix

package before

import "io/fs"

// tempVariable is what os.TempDir reads first on Windows.
const tempVariable = "TMP"

// checkOwner has nothing to check where mode bits mean nothing: on Windows the folders for the user's cache and for
// temporary files lie in the user's profile, which others cannot write to.
func checkOwner(fs.FileInfo, fs.FileMode) error { return nil }

func openToAll(fs.FileMode) bool { return false }
