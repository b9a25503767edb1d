package main

import (
	"path"

	"workings/runner"
)

// packages parts targets into the notebooks of each folder that was given and, between them, those
// that were named themselves.
func packages(ts []target) [][]target {
	var out [][]target
	for from := 0; from < len(ts); {
		to := from + 1
		for to < len(ts) && ts[to].folder == ts[from].folder {
			to++
		}
		out = append(out, ts[from:to])
		from = to
	}
	return out
}

// path of the notebook below the folder that was given.
func (t *target) path() string { return t.page + path.Ext(t.name) }

// buildPackage evaluates the notebooks of a folder, each once. What cannot be read is printed; the
// tally counts each fault once.
func (a *app) buildPackage(ts []target, ev *evaluation) (*runner.Package, tally, error) {
	sum, err := a.each(ts, func(t *target, o *outcome) {
		t.result = t.build(o, ev, false)
		o.notebooks, o.errors, o.fails, o.cautions = 0, 0, 0, 0 // counted below
	})
	if err != nil {
		return nil, sum, err
	}
	var members []runner.Member
	for i := range ts {
		t := &ts[i]
		members = append(members, runner.Member{Path: t.path(), Result: t.result, Err: t.err})
	}
	pkg := runner.NewPackage(members)
	for _, s := range pkg.Sheets {
		sum.count(s.Problems)
	}
	return pkg, sum, nil
}
