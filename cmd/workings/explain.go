package main

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"workings/notebooks"
)

// explanation is the page behind a code.
type explanation struct {
	code, meaning string // meaning is its first sentence
	text          string // Markdown below the heading
}

// explanations are all pages, in the order of the alphabet. A page is a section of a file of
// notebooks/explain, headed by its code.
func explanations() ([]explanation, error) {
	files, err := fs.Glob(notebooks.FS(), "explain/*.md")
	if err != nil {
		return nil, err
	}
	var out []explanation
	for _, f := range files {
		text, err := fs.ReadFile(notebooks.FS(), f)
		if err != nil {
			return nil, err
		}
		for _, section := range strings.Split(string(text), "\n## ")[1:] {
			code, body, _ := strings.Cut(section, "\n")
			body = strings.TrimSpace(body)
			meaning, _, _ := strings.Cut(body, "\n")
			out = append(out, explanation{code, meaning, body})
		}
	}
	slices.SortFunc(out, func(a, b explanation) int { return strings.Compare(a.code, b.code) })
	return out, nil
}

func newExplain(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "explain [CODE]",
		Short: "Explain what a report means",
		Long: `Every report ends with its code in brackets. With a code, print what it means, the physical or
documentary reason, a line that brings it about and one that mends it. Without one, list all codes.`,
		Example: `  workings explain
  workings explain beyond-isentropic`,
		Args: cobra.MaximumNArgs(1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			var codes []string
			all, _ := explanations() // none, and nothing is completed
			for _, e := range all {
				codes = append(codes, e.code)
			}
			return codes, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(_ *cobra.Command, args []string) error {
			all, err := explanations()
			if err != nil {
				return err
			}
			if len(args) == 0 {
				for _, e := range all {
					fmt.Fprintf(a.out, "%-24s %s\n", e.code, e.meaning)
				}
				return nil
			}
			code := strings.Trim(args[0], "[]")
			for _, e := range all {
				if e.code == code {
					fmt.Fprintf(a.out, "%s\n\n%s\n", e.code, e.text)
					return nil
				}
			}
			return &hinted{fmt.Sprintf("no report has the code %q", code), "workings explain lists the codes"}
		},
	}
}
