package resolve

import (
	"regexp"
	"slices"
	"sort"
	"strings"

	"workings/runner/diag"
	"workings/runner/lang"
)

// RefText is a link of prose or a caption to a place on the sheet, [text](#target).
type RefText struct {
	Span   diag.Span
	Target string
	Text   string
}

// Section is a heading of the prose.
type Section struct{ ID, Title string }

// RefKind says what a link leads to.
type RefKind int

// The kinds of what a link leads to.
const (
	ToNothing RefKind = iota // there is no such thing, or it has failed
	ToSymbol                 // the entry that defines it
	ToState
	ToLine // a table, chart, data table, cycle, fluid, method or used sheet, by its name
	ToSection
	ToPagePart // a part of the page that the tool writes
	ToAssumption
	ToSource
)

// Reference is a link to a place on the sheet, resolved.
type Reference struct {
	Span   diag.Span
	Kind   RefKind
	Target string // as written, without the #
	// Word is set where the text is to be followed by a number or a name, as in "table 1": the word
	// as it is typed, or the one for what the link leads to where there is no text.
	Word    string
	Symbol  *Symbol
	State   *State
	Line    *Line
	Section Section
	Problem *diag.Problem
}

// pageParts are the parts of the page that a link may lead to: those that this sheet has.
func (r *resolver) pageParts() []string {
	has := map[Kind]bool{}
	for _, l := range r.sheet.Lines {
		has[l.Kind] = true
	}
	var out []string
	for _, part := range []struct {
		id    string
		there bool
	}{
		{"Answers", has[AnswerLine]},
		{"Checks", has[Check]},
		{"Sources", has[FluidLine] || has[Use] || len(r.source.Footnotes) > 0},
		{"Uncertainty", has[AnswerLine] && r.uncertain()},
		{"Symbols", has[Input] || has[Define] || has[StateLine]},
		{"Evidence", has[StateLine]},
	} {
		if part.there {
			out = append(out, part.id)
		}
	}
	return out
}

// uncertain reports an input with a standard uncertainty.
func (r *resolver) uncertain() bool {
	return slices.ContainsFunc(r.sheet.Lines, func(l *Line) bool { return l.Kind == Input && l.Spread != nil })
}

// labelled enters the name of a table or chart, which may have none.
func (r *resolver) labelled(line *Line, n lang.Name, what string) {
	if n.Text != "" {
		r.defineSpace(line, n, what)
	}
}

// settleRefs finds what links lead to, which may stand anywhere on the sheet.
func (r *resolver) settleRefs() {
	if len(r.source.Refs) == 0 {
		return
	}
	named := map[string][]target{} // what has no scope of its own
	add := func(name string, ref Reference, word string) {
		named[name] = append(named[name], target{ref, word, []string{word}})
	}
	for _, s := range r.source.Sections {
		add(s.ID, Reference{Kind: ToSection, Section: s}, "section")
	}
	for _, id := range r.pageParts() {
		add(id, Reference{Kind: ToPagePart}, "section")
	}
	for _, a := range r.sheet.Assumed {
		add(a.Label, Reference{Kind: ToAssumption}, "assumption")
	}
	for _, label := range r.source.Footnotes {
		add(label, Reference{Kind: ToSource}, "source")
	}
	for _, t := range r.source.Refs {
		r.sheet.Refs = append(r.sheet.Refs, r.reference(t, named))
	}
	sort.SliceStable(r.sheet.Refs, func(i, j int) bool { return r.sheet.Refs[i].Span.Start < r.sheet.Refs[j].Span.Start })
}

// RefAt is the link that begins at a place of the sheet's file, or nil.
func (s *Sheet) RefAt(span diag.Span) *Reference {
	i := sort.Search(len(s.Refs), func(i int) bool { return s.Refs[i].Span.Start >= span.Start })
	if i < len(s.Refs) && s.Refs[i].Span == span {
		return s.Refs[i]
	}
	return nil
}

func (r *resolver) reference(t RefText, named map[string][]target) *Reference {
	found := append(r.targets(t.Target), named[t.Target]...)
	if len(found) == 0 && r.failedName(t.Target) {
		return &Reference{Span: t.Span, Target: t.Target} // that line's problem is enough
	}
	if len(found) > 1 { // the word of the link may tell them apart
		fit := slices.DeleteFunc(slices.Clone(found), func(f target) bool { return !slices.Contains(f.words, strings.ToLower(t.Text)) })
		if len(fit) == 1 {
			found = fit
		}
	}
	ref := &Reference{Span: t.Span, Target: t.Target}
	switch {
	case len(found) == 1:
		*ref = found[0].ref
		ref.Span, ref.Target = t.Span, t.Target
		r.word(ref, t, found[0].words)
	case len(found) > 1:
		var what []string
		for _, f := range found {
			what = append(what, article(f.what))
		}
		r.refFault(ref, "%s is %s here", t.Target, strings.Join(what, " and ")).
			hint("say which with the word of the link, such as [%s](#%s), or give one of them another name", found[len(found)-1].words[0], t.Target)
	default:
		r.unknownTarget(ref)
	}
	return ref
}

func (r *resolver) refFault(ref *Reference, format string, args ...any) *fault {
	line := &Line{Kind: BadLine, File: r.sheet.File, Stmt: &lang.Bad{}}
	f := r.fail(line, CodeReference, ref.Span, format, args...)
	ref.Problem = line.Problem
	return f
}

// target is what a name may lead to, with the words that fit it, the one for an empty text first.
type target struct {
	ref   Reference
	what  string
	words []string
}

// targets finds the symbol, state and named fence or fluid that go by a name.
func (r *resolver) targets(name string) []target {
	var out []target
	add := func(ref Reference, what string, words ...string) { out = append(out, target{ref, what, words}) }
	if s := r.symbolFor(name); s != nil {
		if s.Line != nil && s.Line.Kind == Input {
			add(Reference{Kind: ToSymbol, Symbol: s}, "input", "entry", "input")
		} else {
			add(Reference{Kind: ToSymbol, Symbol: s}, "symbol", "entry")
		}
	}
	if id, ok := strings.CutPrefix(name, "state-"); ok {
		if st := r.stateFor(id); st != nil {
			add(Reference{Kind: ToState, State: st}, "state", "state", "entry")
		}
	}
	if p, ok := r.scope.spaces[name]; ok && p.line != nil {
		ref := Reference{Kind: ToLine, Line: p.line}
		switch p.what {
		case "table":
			add(ref, p.what, "table")
		case "chart":
			add(ref, p.what, "figure")
		case "data table":
			add(ref, p.what, "data", "table")
		case "study":
			add(ref, p.what, p.what)
		case "cycle":
			add(ref, p.what, p.what, "entry")
		case "method":
			add(ref, p.what, p.what)
		default:
			add(ref, p.what, "entry")
		}
	}
	return out
}

// symbolFor finds a symbol by any spelling that prints like it: eta_th, gt.eta_th, h2.
func (r *resolver) symbolFor(name string) *Symbol {
	sub := r
	if of, rest, member := strings.Cut(name, "."); member {
		used := r.scope.used[of]
		if used == nil || used.scope == nil {
			return nil
		}
		sub, name = used.scope, rest
	}
	key := lang.Name{Text: name}.Key()
	if s := sub.scope.symbols[key]; s != nil {
		return s
	}
	if l, ok := sub.scope.lateSymbol(key); ok && l.state != nil {
		for _, s := range l.state.Props {
			return s // any property leads to the state's entry
		}
	}
	return nil
}

func (r *resolver) stateFor(id string) *State {
	if of, rest, member := strings.Cut(id, "."); member {
		if used := r.scope.used[of]; used != nil {
			return used.states[rest]
		}
		return nil
	}
	return r.scope.states[id]
}

// failedName reports a name that a line which could not be read would have defined.
func (r *resolver) failedName(name string) bool {
	state, _ := strings.CutPrefix(name, "state-")
	return r.scope.bad[lang.Name{Text: name}.Key()] != nil || r.scope.bad["space "+name] != nil || r.scope.bad["state "+state] != nil
}

// refWords are those that a link's text may consist of to be followed by a number or a name.
func refWords() []string {
	return []string{"entry", "input", "state", "table", "figure", "data", "method", "cycle", "study", "section", "assumption", "source"}
}

// word settles whether the text stays as it is.
func (r *resolver) word(ref *Reference, t RefText, fits []string) {
	word := strings.ToLower(t.Text)
	switch {
	case word == "":
		ref.Word = fits[0]
	case slices.Contains(fits, word):
		ref.Word = t.Text
	case slices.Contains(refWords(), word):
		ref.Word = fits[0]
		r.caution(r.sheetLine, CodeReferenceWord, t.Span, "the link says %s, and %s is %s", word, t.Target, article(fits[0])).
			hint("write [%s](#%s)", fits[0], t.Target)
	}
}

// numbered are targets that name an entry, a state or a source by its number.
var numbered = regexp.MustCompile(`^(e[0-9]+(\.[0-9]+)*|[ASP][0-9]+|(table|figure|entry|data)-?[0-9]+)$`)

func (r *resolver) unknownTarget(ref *Reference) {
	name := ref.Target
	if name == "" {
		r.refFault(ref, "this link leads nowhere").hint("name what it leads to: [entry](#eta_th), [state](#state-4), [table](#NAME)")
		return
	}
	if numbered.MatchString(name) {
		r.refFault(ref, "%s is a number, which changes when a line is added", name).
			hint("name what is meant: [entry](#eta_th) by the symbol it defines, [state](#state-4), [table](#NAME) by the name after the fence word")
		return
	}
	f := r.refFault(ref, "nothing on this sheet is called %s", name)
	f.hint("a link leads to a symbol (#eta_th), a state (#state-4), a table or chart by the name after its fence word, or a heading (#its-words)")
	if r.shared.looked > maxNear {
		return
	}
	var names []string
	for _, s := range r.sheet.Symbols {
		if !s.Local && s.Sheet == "" {
			names = append(names, s.Name)
		}
	}
	for id := range r.scope.states {
		names = append(names, "state-"+id)
	}
	names = append(names, sortedKeys(r.scope.spaces)...)
	for _, s := range r.source.Sections {
		names = append(names, s.ID)
	}
	for _, a := range r.sheet.Assumed {
		names = append(names, a.Label)
	}
	names = append(names, r.source.Footnotes...)
	slices.Sort(names)
	if near := r.near(name, slices.Compact(names)); len(near) > 0 {
		f.hint("did you mean #%s?", strings.Join(near, " or #"))
	}
}

// uncited cautions about footnotes that nothing refers to: a source nobody can tell the use of.
func (r *resolver) uncited() {
	if len(r.source.Footnotes) == 0 {
		return
	}
	cited := map[string]bool{}
	for _, l := range r.source.CitedInProse {
		cited[l] = true
	}
	for _, b := range r.source.Blocks {
		for _, s := range b.Stmts {
			lang.Walk(s, func(n lang.Node) bool {
				stmt, ok := n.(lang.Stmt)
				if ok {
					for _, m := range footRef.FindAllStringSubmatch(lang.CaptionOf(stmt).Text, -1) {
						cited[m[1]] = true
					}
				}
				return ok
			})
		}
	}
	for _, t := range r.sheet.Refs {
		if t.Kind == ToSource {
			cited[t.Target] = true
		}
	}
	for i, l := range r.source.Footnotes {
		if !cited[l] && i < len(r.source.FootnoteSpans) {
			r.caution(r.sheetLine, CodeUncited, r.source.FootnoteSpans[i], "nothing refers to footnote %s", l).
				hint("cite it where it is used, as [^%s] in a caption or in the text, or delete it", l)
		}
	}
}
