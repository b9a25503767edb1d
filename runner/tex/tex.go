// Package tex typesets the TeX of prose and captions, $…$, as MathML.
//
//   - New: a Typesetter, of which each build has one of its own.
//   - Typesetter.Typeset: TeX → MathML, or the problem with it.
//
// TeX is read by temml (MIT licence, temml-LICENSE.txt), a JavaScript library that is embedded and
// runs inside an engine with no access to anything. The engine starts with the first formula: a
// notebook without maths never pays for it. What comes back is not trusted: mathml.go reads it and
// writes it anew, element by element, from a list of those it knows.
package tex

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"modernc.org/quickjs"

	"workings/runner/diag"
)

// Limits of what one notebook may ask for. They are counted in steps, not in seconds, so that a
// notebook fails everywhere or nowhere.
const (
	// MaxFormula bounds the TeX between two dollar signs, in bytes.
	MaxFormula = 10_000
	// MaxDepth bounds the brackets, \left and \begin within one another.
	MaxDepth = 50
	// MaxMarkup bounds the MathML of one formula, in bytes.
	MaxMarkup = 1 << 20
	// MaxSteps bounds the work for one formula: tokens read and pieces moved. One takes about a
	// microsecond; a formula of a line takes some thousand of them.
	MaxSteps = 1_000_000
	// MaxAllSteps bounds the work for all formulas of one notebook, MaxAllMarkup their MathML.
	MaxAllSteps  = 10_000_000
	MaxAllMarkup = 16 << 20
)

// The problems this package finds.
const (
	CodeTeX   = diag.Code("tex")       // TeX that cannot be typeset
	CodeLimit = diag.Code("limit-tex") // a formula, or all of them, beyond a limit
)

// Formula is what stands between dollar signs.
type Formula struct {
	TeX     string
	Display bool // $$…$$
	File    *diag.File
	Span    diag.Span // with the dollar signs
	// Offset is where a byte of TeX stands in File.
	Offset func(int) int
}

// Place is where a formula begins.
type Place struct {
	File *diag.File
	At   int // byte of the opening dollar sign
}

// Typeset is what became of a formula: its MathML, or the problem with it.
type Typeset struct {
	Markup  string
	Problem *diag.Problem
}

// Typesetter turns formulas into MathML. It is not safe for concurrent use.
type Typesetter struct {
	vm     *quickjs.VM
	ran    bool
	err    error // why the engine did not start
	steps  int   // still to be had
	markup int   // bytes still to be had
	done   map[key]outcome
	memory *Memory
}

type key struct {
	tex     string
	display bool
}

type outcome struct {
	markup string
	fault  *fault
}

// fault is what is wrong with a formula, from a place in its TeX.
type fault struct {
	code     diag.Code
	message  string
	at, size int // bytes of the TeX; at is -1 where it has no place
	label    string
	hint     string
}

// New makes a typesetter; nothing is started. It takes from m, which may be nil, what was typeset before.
func New(m *Memory) *Typesetter {
	return &Typesetter{steps: MaxAllSteps, markup: MaxAllMarkup, done: map[key]outcome{}, memory: m}
}

// Started reports whether a formula was met that needed the engine.
func (t *Typesetter) Started() bool { return t.ran }

// Close frees the engine.
func (t *Typesetter) Close() {
	if t.vm != nil {
		t.vm.Close()
		t.vm = nil
	}
}

// Typeset gives the MathML of a formula, or the problem with it. An error means that the engine
// could not be started.
func (t *Typesetter) Typeset(f Formula) (string, *diag.Problem, error) {
	k := key{f.TeX, f.Display}
	o, known := t.done[k]
	if !known {
		o = t.typeset(f)
		if t.err != nil {
			return "", nil, t.err
		}
		t.done[k] = o
	}
	if o.fault != nil {
		return "", f.problem(o.fault), nil
	}
	if t.markup -= len(o.markup); t.markup < 0 {
		return "", f.problem(tooMuch()), nil
	}
	return o.markup, nil, nil
}

func (t *Typesetter) typeset(f Formula) outcome {
	if bad := inspect(f.TeX); bad != nil {
		return outcome{fault: bad}
	}
	if t.steps <= 0 {
		return outcome{fault: tooMuch()}
	}
	k := key{f.TeX, f.Display}
	if was, ok := t.memory.find(k); ok && was.steps <= t.steps {
		t.steps -= was.steps + perFormula
		return outcome{markup: was.markup}
	}
	r, err := t.run(f)
	if t.err != nil {
		return outcome{}
	}
	if err != nil {
		// The engine ran out of memory, of stack or of patience: whatever it holds is dropped.
		t.Close()
		t.steps -= MaxSteps
		return outcome{fault: &fault{code: CodeLimit, at: -1, message: "this formula takes more memory than a formula may",
			label: "too much to typeset", hint: "break it into formulas of a line each"}}
	}
	t.steps -= r.Used + perFormula
	switch {
	case r.Fault == "steps" && r.Used < MaxSteps:
		return outcome{fault: tooMuch()} // what was left for it
	case r.Fault == "steps":
		return outcome{fault: &fault{code: CodeLimit, at: -1, message: fmt.Sprintf("this formula takes more than %d steps to typeset", MaxSteps),
			label: "too much to typeset", hint: "break it into formulas of a line each"}}
	case r.Fault != "":
		// temml stumbles where a part is missing at the end, as in x^.
		return outcome{fault: &fault{code: CodeTeX, at: -1, message: "this formula cannot be typeset", label: "a part of it is missing",
			hint: "look for ^, _ or a command with nothing after it; " + escapeHint}}
	case r.Said != "":
		return outcome{fault: said(f.TeX, r)}
	}
	markup, err := clean(r.Markup, f.Display)
	if err != nil {
		return outcome{fault: &fault{code: CodeTeX, at: -1, message: "this formula cannot be typeset", label: err.Error(),
			hint: "write it more simply; " + escapeHint}}
	}
	t.memory.keep(k, kept{markup, r.Used})
	return outcome{markup: markup}
}

func tooMuch() *fault {
	return &fault{code: CodeLimit, at: -1, message: "the formulas of this notebook take more work than a notebook may ask for",
		label: "this one and those after it are shown as typed", hint: "split the notebook"}
}

// reply is what render.js gives back.
type reply struct {
	Markup string
	Said   string // by temml, of a formula that it cannot read
	At     int    // where, in UTF-16 units; -1 where it does not say
	Fault  string // another error
	Used   int    // steps
}

//go:embed temml.min.js
var library string

//go:embed render.js
var around string

// perFormula are the steps that the shortest formula is worth: what it takes to call the engine.
const perFormula = 1000

// patience ends a formula that the count of steps has let through and that goes on all the same.
// No formula is known that does; this keeps a build finite if there is one.
const patience = 30 * time.Second

const mostMemory = 256 << 20 // bytes of the engine

func (t *Typesetter) start() error {
	vm, err := quickjs.NewVM()
	if err != nil {
		return fmt.Errorf("the engine for TeX does not start: %w", err)
	}
	vm.SetMemoryLimit(mostMemory)
	if err := vm.SetEvalTimeout(patience); err != nil {
		vm.Close()
		return fmt.Errorf("the engine for TeX does not start: %w", err)
	}
	for _, source := range []string{library, around} {
		if _, err := vm.Eval(source, quickjs.EvalGlobal); err != nil {
			vm.Close()
			return fmt.Errorf("the engine for TeX does not start: %w", err)
		}
	}
	t.vm, t.ran = vm, true
	return nil
}

func (t *Typesetter) run(f Formula) (reply, error) {
	var r reply
	if t.vm == nil {
		if t.err = t.start(); t.err != nil {
			return r, t.err
		}
	}
	out, err := t.vm.Call("typeset", f.TeX, f.Display, min(MaxSteps, t.steps))
	if err != nil {
		return r, err
	}
	text, ok := out.(string)
	if !ok || len(text) > 2*MaxMarkup {
		return r, fmt.Errorf("no reply of a usable length")
	}
	return r, json.Unmarshal([]byte(text), &r)
}

// said turns temml's words into a fault: `Unsupported function name: \foo at position 1: …`, with
// the place and an excerpt that the problem shows better.
func said(source string, r reply) *fault {
	words := strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(r.Said), "ParseError:"))
	for _, tail := range []string{" at position ", " at end of input"} {
		if i := strings.LastIndex(words, tail); i >= 0 {
			words = words[:i]
		}
	}
	bad := &fault{code: CodeTeX, message: "this formula cannot be typeset", label: plain(words), at: -1}
	if r.At >= 0 {
		bad.at = byteOffset(source, r.At)
		bad.size = tokenAt(source[bad.at:])
	}
	bad.hint = hintFor(words, source, bad.at)
	return bad
}

// plain is text without what a terminal or a reader could take for something else.
func plain(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	s = strings.Map(func(r rune) rune {
		if r == '\u0332' {
			return -1 // the underline of temml's excerpts
		}
		return r
	}, s)
	if len(s) > 200 {
		cut := 200
		for !utf8.RuneStart(s[cut]) {
			cut--
		}
		s = s[:cut] + "…"
	}
	return s
}

// byteOffset finds the byte at which a number of UTF-16 units end.
func byteOffset(s string, units int) int {
	for i, r := range s {
		if units <= 0 {
			return i
		}
		units--
		if r > 0xffff {
			units--
		}
	}
	return len(s)
}

// problem places a fault in the file.
func (f Formula) problem(bad *fault) *diag.Problem {
	p := &diag.Problem{Code: bad.code, Severity: diag.Error, File: f.File, Span: f.Span,
		Message: bad.message, Label: bad.label, Hint: bad.hint}
	if bad.at < 0 {
		return p
	}
	start := f.Offset(bad.at)
	p.Span = diag.Span{Start: start, End: max(start+bad.size, start+1)}
	return p
}
