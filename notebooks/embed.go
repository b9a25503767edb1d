// Package notebooks holds the Markdown notebooks that come with the tool, as plain files and
// embedded in the program.
//
//   - library: component notebooks; `use gas_turbine` brings in the methods of library/gas_turbine.md.
//   - guide: the language reference, written as notebooks that evaluate.
//   - demos: worked plants of an invented island power station, every figure invented.
//   - explain: the page behind each code of a report, a section a code.
//   - verification: published examples and tables, each checked against the printed answers.
//
// The notebooks are read from the files as they stand; there is no second form of them.
package notebooks

import (
	"embed"
	"io/fs"
)

//go:embed library guide demos verification explain
var files embed.FS

// FS is the whole tree; paths are slash-separated and relative to this folder, such as
// "demos/plain-cycle.md".
func FS() fs.FS { return files }

// Library is the folder of component notebooks: `use NAME` means its file NAME.md.
func Library() fs.FS {
	sub, err := fs.Sub(files, "library")
	if err != nil {
		panic("notebooks: " + err.Error()) // the folder is named in the embed line above
	}
	return sub
}
