package runner

import (
	"io/fs"

	"workings/runner/diag"
	"workings/runner/lang"
	"workings/runner/notebook"
)

// Formatted is a notebook's text and its canonical form.
type Formatted struct {
	Before, After []byte
	// Problems are those of reading it. A line that cannot be read stays as it is.
	Problems []*diag.Problem
}

// Format brings the fences of the notebook at name in fsys to their canonical form and leaves all
// else, prose and meaning, alone. Of the options only Shown counts. An error means that the file
// could not be read.
func Format(fsys fs.FS, name string, o Options) (*Formatted, error) {
	text, err := readFile(fsys, name)
	if err != nil {
		return nil, err
	}
	if err := notebook.Check(text); err != nil {
		return nil, &FileError{name, err.Error()}
	}
	doc := notebook.Parse(newLoader(fsys, name, o).file(name, text))
	f := &Formatted{Before: text, Problems: parse(doc, nil).Problems}
	var edits []lang.Edit
	for _, b := range doc.Blocks {
		if e, differs := lang.FormatEdit(doc.File, langSource(b)); differs {
			edits = append(edits, e)
		}
	}
	f.After = lang.Apply(text, edits)
	diag.Sort(f.Problems)
	return f, nil
}
