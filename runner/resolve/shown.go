package resolve

import (
	"regexp"
	"strings"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
)

// settleShown resolves what may look forward: tables, answers and values in prose.
func (r *resolver) settleShown() {
	for _, line := range r.sheet.Lines {
		if s, ok := line.Stmt.(*lang.Study); ok && line.Problem == nil {
			r.block = line.Block
			r.study(line, s)
		}
	}
	for _, line := range r.sheet.Lines {
		r.block = line.Block
		switch s := line.Stmt.(type) {
		case *lang.Table:
			r.table(line, s)
		case *lang.Answer:
			line.Shown = r.shown(line, s.Shown)
			r.sheet.Answers = append(r.sheet.Answers, line.Shown)
		case *lang.Chart:
			r.chart(line, s)
		}
	}
	for _, p := range r.source.Prose {
		line := &Line{Kind: BadLine, File: r.sheet.File, Block: -1, Stmt: &lang.Bad{At: p.At}}
		s := r.shown(line, p)
		s.Line = nil
		r.sheet.Prose = append(r.sheet.Prose, s)
	}
}

func (r *resolver) shown(line *Line, s lang.Shown) *Shown {
	out := &Shown{Digits: s.Digits, Span: s.At.Loc, Line: line}
	r.scope.ahead = nil // everything is defined by now
	if s.Of != nil {
		out.Symbol = r.memberOf(line, *s.Of, s.Name)
	} else {
		out.Symbol = r.lookup(line, s.Name)
	}
	out.Problem = line.Problem
	if out.Symbol == nil {
		return out
	}
	u, ok := r.shownIn(line, s.In, out.Symbol.Type, out.Symbol.Unit)
	out.Unit, out.Problem = u, line.Problem
	if !ok {
		out.Symbol = nil
	}
	return out
}

func (r *resolver) table(line *Line, s *lang.Table) {
	t := &Table{Name: s.Name.Text, Line: line, Caption: s.Caption}
	line.Table = t
	for i := range s.States {
		if st := r.stateNamed(line, &s.States[i]); st != nil {
			t.States = append(t.States, st)
		}
	}
	for _, c := range s.Columns {
		prop, ok := propertyName(c.Name)
		if !ok {
			r.noProperty(line, c.Name)
			continue
		}
		col := TableColumn{Prop: prop, Name: c.Name.Text, Set: c.In != nil}
		u, ok := r.shownIn(line, c.In, propertyType(prop, nil), r.preferred(propertyType(prop, nil)))
		if !ok {
			continue
		}
		col.Unit = u
		t.Columns = append(t.Columns, col)
	}
	for _, st := range t.States {
		row := make([]*Symbol, len(t.Columns))
		for j, c := range t.Columns {
			row[j] = r.propertyOf(line, st, c.Prop)
		}
		t.Cells = append(t.Cells, row)
	}
	for _, x := range s.Symbols {
		t.Symbols = append(t.Symbols, r.shown(line, x))
	}
	r.sheet.Tables = append(r.sheet.Tables, t)
}

// noProperty reports a name that should be a property's.
func (r *resolver) noProperty(line *Line, n lang.Name) {
	var stems []string
	for _, q := range allProperties() {
		stems = append(stems, q.Symbol())
	}
	f := r.fail(line, CodeUnknownName, n.Loc, "%s is no property of a state", n.Text)
	if near := r.near(n.Text, stems); len(near) > 0 {
		f.hint("did you mean %s?", orList(near))
	} else {
		f.hint("the properties are p, T, v, rho, h, s and u, cp, cv, k, c, R, M, Z, so, pr, vr")
	}
}

// propertyOf is the symbol of a state's property, brought into being where nobody has read it.
func (r *resolver) propertyOf(line *Line, st *State, p propsdb.Property) *Symbol {
	s := st.Prop(p)
	if s == nil {
		for _, sc := range r.scopesOf(st) {
			key := r.propertySymbol(p, lang.Name{Text: st.ID})
			if l, ok := sc.scope.lateSymbol(key); ok && l.state == st {
				s = sc.bring(lang.Name{Text: l.name}, l)
			}
		}
	}
	if s != nil {
		r.uses(line, s)
	}
	return s
}

func (r *resolver) scopesOf(st *State) []*resolver {
	out := []*resolver{r}
	for _, name := range sortedKeys(r.scope.used) {
		if sub := r.scope.used[name].scope; sub != nil && st.Sheet == sub.sheet.Name {
			out = append(out, sub)
		}
	}
	return out
}

var (
	footRef  = regexp.MustCompile(`\[\^([^\]\s]+)\]`)
	labelRef = regexp.MustCompile(`\[([A-Za-z0-9][A-Za-z0-9-]*)\]`)
	linkRef  = regexp.MustCompile(`\[[^\]]+\]\([^)]+\)|<https?://[^>]+>`)
)

// noteCites collects what a caption cites, to be looked up when all assumptions are known.
func (r *resolver) noteCites(line *Line) {
	c := lang.CaptionOf(line.Stmt)
	if !strings.ContainsAny(c.Text, "[<") {
		return
	}
	if linkRef.MatchString(c.Text) {
		line.Sources = append(line.Sources, "link")
	}
	for _, m := range footRef.FindAllStringSubmatchIndex(c.Text, -1) {
		r.cites = append(r.cites, cite{line, c.Text[m[2]:m[3]], diag.Span{Start: c.Loc.Start + m[0], End: c.Loc.Start + m[1]}, true})
	}
	for _, m := range labelRef.FindAllStringSubmatchIndex(c.Text, -1) {
		if m[1] < len(c.Text) && (c.Text[m[1]] == '(' || c.Text[m[1]] == '[') {
			continue // a link
		}
		r.cites = append(r.cites, cite{line, c.Text[m[2]:m[3]], diag.Span{Start: c.Loc.Start + m[0], End: c.Loc.Start + m[1]}, false})
	}
}

func (r *resolver) settleCites() {
	byLabel := map[string]*Assumption{}
	for _, a := range r.sheet.Assumed {
		byLabel[a.Label] = a
	}
	foot := map[string]bool{}
	for _, l := range r.source.Footnotes {
		foot[l] = true
	}
	for _, c := range r.cites {
		if c.line.File != r.sheet.File {
			continue // a caption of a method from elsewhere cites its own sheet
		}
		switch {
		case c.foot && foot[c.label]:
			c.line.Sources = append(c.line.Sources, "^"+c.label)
		case c.foot:
			f := r.fail(r.sheetLine, CodeFootnote, c.span, "there is no footnote `%s`", c.label)
			if near := r.near(c.label, r.source.Footnotes); len(near) > 0 {
				f.hint("did you mean %s?", orList(near))
			} else {
				f.hint("write it anywhere in the text: [^%s]: …", c.label)
			}
		case byLabel[c.label] != nil:
			c.line.Sources = append(c.line.Sources, c.label)
			byLabel[c.label].CitedBy = append(byLabel[c.label].CitedBy, c.line)
		default:
			if near := r.near(c.label, sortedKeys(byLabel)); len(near) > 0 {
				r.caution(c.line, CodeUnknownLabel, c.span, "there is no assumption %s", c.label).hint("did you mean %s?", orList(near))
			}
		}
	}
}

func toConfirm(basis string) bool { return strings.Contains(strings.ToLower(basis), "to confirm") }

// lookalikes refuses names that a reader cannot tell apart.
func (r *resolver) lookalikes() {
	borrowed := false // a letter that another script has as well
	for key := range r.scope.symbols {
		borrowed = borrowed || lang.Borrowed(key)
	}
	if !borrowed {
		return
	}
	var names []lang.Name
	for _, s := range r.sheet.Symbols {
		if !s.Local && s.Sheet == r.sheet.Name && s.Line != nil && s.Line.File == r.sheet.File {
			names = append(names, lang.Name{At: lang.At{Loc: s.Span}, Text: s.Name})
		}
	}
	for _, pair := range lang.Lookalikes(names) {
		r.fail(r.sheetLine, CodeLookalike, pair.Second.Loc, "%s looks like %s and is another symbol: their letters come from different scripts", pair.Second.Text, pair.First.Text).
			related(r.sheet.File, pair.First.Loc, "%s stands here", pair.First.Text).
			hint("type both from one keyboard layout, or spell Greek letters out: eta, rho, Alpha")
	}
}
