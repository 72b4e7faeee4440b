package main

import (
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

func newManCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "man FOLDER",
		Short: "Write the manual pages into a folder",
		Long: `Man writes one manual page a command, section 1, into a folder that is there. The text is
that of --help.`,
		Example: `  walkback man ~/.local/share/man/man1
  man walkback-probe`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return oneArg(cmd, args)
			}
			return needArg("a folder is missing")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			st, err := os.Stat(args[0])
			switch {
			case err != nil:
				return fmt.Errorf("write into %s: %w", args[0], cause(err))
			case !st.IsDir():
				return fmt.Errorf("%s is no folder", args[0])
			}
			root := cmd.Root()
			root.DisableAutoGenTag = true
			date := time.Unix(0, 0).UTC()
			return doc.GenManTree(root, &doc.GenManHeader{Section: "1", Date: &date, Source: "walkback " + version(), Manual: "walkback"}, args[0])
		},
	}
}
