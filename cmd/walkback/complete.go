package main

import "github.com/spf13/cobra"

// completeFlag registers a completion; it fails only for flags that do not exist.
func completeFlag(cmd *cobra.Command, flag string, f cobra.CompletionFunc) {
	if err := cmd.RegisterFlagCompletionFunc(flag, f); err != nil {
		panic(err)
	}
}

// completeWords offers a closed set of words for a flag.
func completeWords(cmd *cobra.Command, flag string, words ...string) {
	completeFlag(cmd, flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
}
