package resolve

import (
	"math"

	"workings/propsdb"
	"workings/runner/diag"
	"workings/runner/lang"
	"workings/units"
)

// Source is one notebook after parsing, as the runner hands it over.
type Source struct {
	File   *diag.File
	Blocks []*lang.Block
	// Ambient is the front matter's ambient pressure as typed; nil where it has none.
	Ambient *lang.Caption
	System  units.System
	Digits  int
	Prose   []lang.Shown
	// UserFluids are those of the file that the front matter names, by name.
	UserFluids map[string]*propsdb.Fluid
	// FluidFaults are the errors of those that could not be built, by name; NoFluids is why a file
	// of them could not be read at all.
	FluidFaults map[string]*diag.Problem
	NoFluids    *diag.Problem
	// Footnotes are the labels that captions may cite.
	Footnotes     []string
	FootnoteSpans []diag.Span // of those labels
	CitedInProse  []string    // labels that the prose refers to
	// Refs are the links to places on the sheet, in prose and captions; Sections are the headings
	// that they may lead to.
	Refs     []RefText
	Sections []Section
	// Given is a study that stands elsewhere than in the notebook, in a text of its own; or nil.
	Given *GivenStudy
	// Problems found before; those that name no line of this stage only pass through.
	Problems []*diag.Problem
}

// Files hands over what a notebook names. The evaluator opens nothing itself.
type Files interface {
	// Notebook reads the notebook that `use "path"` in file from names.
	Notebook(from *diag.File, path string) (*Source, error)
	// Library reads a notebook that comes with the tool; its methods are then known by name.
	Library(name string) (*Source, error)
	// LibraryNames lists those notebooks.
	LibraryNames() []string
	// Data reads the rows of a `data … from` table.
	Data(from *diag.File, d *lang.Data) (*lang.Data, *diag.File, []*diag.Problem, error)
}

// FileError says why a file that a notebook names is not read.
type FileError struct{ Reason, Hint string }

func (e *FileError) Error() string { return e.Reason }

// Override gives an input another value than its notebook does (`--set NAME=VALUE`).
type Override struct {
	Name string
	File *diag.File // a text of its own, for messages
	X    lang.Expr
	Text string
}

// GivenStudy is a study in a text of its own, with what was found in reading it.
type GivenStudy struct {
	File     *diag.File
	Stmts    []lang.Stmt
	Problems []*diag.Problem
}

// OtherFluid gives a fluid of a sheet, and of the sheets it uses, another model: the second route
// of a whole sheet (`--also air=perfect(…)`).
type OtherFluid struct {
	Name string
	File *diag.File // a text of its own, or that of the front matter, for messages
	At   diag.Span  // of the name
	Spec lang.Expr
}

// MaxLines is how many lines a sheet may come to after its methods and used sheets are expanded.
const MaxLines = 100_000

// MaxComponents is how many components a cycle may have.
const MaxComponents = 1000

// maxUses is how deep sheets may use each other, methods call each other and solves nest.
const maxUses = 100

// shared is what a sheet and the sheets it uses have in common.
type shared struct {
	registers int
	fluids    int
	lines     int
	studied   int // values that studies hold
	// studyLines are the lines that studies evaluate.
	studyLines int
	over       bool // MaxLines was exceeded and reported
	looked     int  // names that suggestions were looked for among
	reported   map[seen]*diag.Problem
	stack      []*diag.File // sheets being resolved
	files      Files
	other      *OtherFluid // the fluid that has another model this time
	replaced   bool        // it was met

	// What a sheet has thousands of is made many at a time.
	newLines   slab[Line]
	newSymbols slab[Symbol]
	newExprs   slab[Expr]
}

// slab hands out values that were allocated together.
type slab[T any] []T

func (s *slab[T]) add(v T) *T {
	if len(*s) == cap(*s) {
		*s = make([]T, 0, 64)
	}
	*s = append(*s, v)
	return &(*s)[len(*s)-1]
}

type resolver struct {
	sheet       *Sheet
	source      *Source
	scope       *scope
	shared      *shared
	call        *Line // the call whose working is being resolved
	nesting     int   // of calls and solves
	depth       int   // of the expression
	inChain     bool
	hasAmbient  bool
	block       int
	given       map[string]*given // inputs given from outside, by key
	cites       []cite
	spacesAhead map[string]diag.Span // fluids, methods, tables and used sheets that later lines define
	sheetLine   *Line                // carries problems that belong to no line
	lines       *[]*Line
}

// given is an input's value from outside: from a --set, or from the sheet that uses this one.
type given struct {
	name string
	file *diag.File // where the value is written
	line *Line      // the `use` that gives it; nil for a --set
	x    *Expr      // typed in the using sheet
	set  *Override
	used bool
}

type cite struct {
	line  *Line
	label string
	span  diag.Span
	foot  bool
}

// Resolve checks a notebook. Whatever is wrong with it is in the sheet's Problems.
func Resolve(src *Source, files Files, set []Override) *Sheet {
	return ResolveAlso(src, files, set, nil)
}

// ResolveAlso is Resolve with another model for one fluid, where other is not nil.
func ResolveAlso(src *Source, files Files, set []Override, other *OtherFluid) *Sheet {
	sh := &shared{reported: map[seen]*diag.Problem{}, files: files, other: other}
	given := map[string]*given{}
	r := newResolver(src, sh, "")
	for i := range set {
		given[lang.Name{Text: set[i].Name}.Key()] = newGiven(&set[i])
	}
	r.given = given
	r.run()
	for _, key := range sortedKeys(given) {
		if g := given[key]; !g.used {
			r.unknownInput(g.set.File, diag.Span{Start: 0, End: len(g.set.Name)}, g.name)
		}
	}
	if other != nil && !sh.replaced {
		r.noSuchFluid(other)
	}
	diag.Sort(r.sheet.Problems)
	r.sheet.Registers, r.sheet.FluidRegisters = sh.registers, sh.fluids
	return r.sheet
}

func newGiven(o *Override) *given { return &given{name: o.Name, file: o.File, set: o} }

func newResolver(src *Source, sh *shared, name string) *resolver {
	sc := newScope(false)
	sheet := &Sheet{File: src.File, Name: name, System: src.System, Digits: src.Digits,
		symbols: sc.symbols, states: sc.states, used: sc.used}
	sheet.Problems = append(sheet.Problems, src.Problems...)
	for _, p := range src.Problems {
		sh.reported[seen{file: p.File, span: p.Span, code: p.Code}] = p
	}
	r := &resolver{sheet: sheet, source: src, scope: sc, shared: sh, given: map[string]*given{}, spacesAhead: map[string]diag.Span{}}
	r.lines = &sheet.Lines
	r.sheetLine = &Line{Kind: BadLine, File: src.File, Stmt: &lang.Bad{}}
	return r
}

func (r *resolver) run() {
	r.shared.stack = append(r.shared.stack, r.sheet.File)
	defer func() { r.shared.stack = r.shared.stack[:len(r.shared.stack)-1] }()
	r.ambient()
	for _, b := range r.source.Blocks {
		r.lookAhead(b.Stmts)
	}
	for i, b := range r.source.Blocks {
		r.block = i
		for _, s := range b.Stmts {
			r.stmt(s)
		}
	}
	r.givenStudy()
	r.uncalled()
	r.settleCorrelations()
	r.settleShown()
	r.settleCites()
	r.settleRefs()
	r.uncited()
	r.lookalikes()
}

func (r *resolver) ambient() {
	a := r.source.Ambient
	if a == nil {
		return
	}
	x, ps := lang.ParseExpr(r.sheet.File, lang.Line{Text: a.Text, Start: a.Loc.Start})
	for _, p := range ps {
		r.report(r.sheetLine, diag.Error, p.Code, p.Span, "%s", p.Message).hint("%s", p.Hint)
	}
	if x == nil || len(ps) > 0 {
		return
	}
	line := &Line{Kind: BadLine, File: r.sheet.File, Stmt: &lang.Bad{At: lang.At{Loc: a.Loc}}}
	e := r.expr(line, x)
	if e == nil {
		return
	}
	v, ok := constantOf(e)
	switch {
	case e.Type.Dim != units.DimPressure():
		r.fail(line, CodeDimension, a.Loc, "the ambient must be a pressure, and this is %s", e.Type.describe()).hint("for example ambient: 101.325 kPa")
	case !ok || !(v > 0) || math.IsInf(v, 0):
		r.fail(line, CodeAmbient, a.Loc, "the ambient must be a pressure above zero").hint("for example ambient: 101.325 kPa")
	default:
		r.sheet.Ambient, r.hasAmbient = v, true
	}
}

// lookAhead notes what later lines define, so that a line that comes too early can be told.
func (r *resolver) lookAhead(stmts []lang.Stmt) {
	for _, s := range stmts {
		add := func(n lang.Name) { r.scope.ahead.enter(n.Key(), later{n.Loc, s}) }
		state := func(id lang.Name) { r.scope.ahead.enter(stateKey(id.Text), later{id.Loc, s}) }
		switch s := s.(type) {
		case *lang.Input:
			add(s.Name)
		case *lang.Define:
			add(s.Name)
		case *lang.State:
			state(s.ID)
		case *lang.CallStmt:
			for _, o := range s.Outs {
				if o.State {
					state(o.Name)
				} else {
					add(o.Name)
				}
			}
		case *lang.Solve:
			for _, n := range s.Names {
				add(n)
			}
			r.lookAhead(s.Body)
		case *lang.Method:
			r.spacesAhead[s.Name.Text] = s.Name.Loc
		case *lang.Data:
			r.spacesAhead[s.Name.Text] = s.Name.Loc
		case *lang.Cycle:
			r.spacesAhead[s.Name.Text] = s.Name.Loc
		case *lang.Fluid:
			r.spacesAhead[s.Name.Text] = s.Name.Loc
		case *lang.Use:
			if s.As != nil {
				r.spacesAhead[s.As.Text] = s.As.Loc
			}
		}
	}
}

// stmt resolves one statement into a line.
func (r *resolver) stmt(s lang.Stmt) *Line {
	line := r.shared.newLines.add(Line{Stmt: s, File: r.sheet.File, Block: r.block})
	if r.scope.local && r.call != nil {
		line.File, line.Block = r.call.Method.File, r.call.Block
	}
	if r.tooLong(line, s) {
		return line
	}
	*r.lines = append(*r.lines, line)
	r.inChain = false
	switch s := s.(type) {
	case *lang.Heading:
		line.Kind = Heading
	case *lang.Input:
		r.input(line, s)
	case *lang.Correlation:
		line.Kind = CorrelationLine
	case *lang.Define:
		r.defineStmt(line, s)
	case *lang.Assume:
		r.assume(line, s)
	case *lang.Fluid:
		r.fluid(line, s)
	case *lang.State:
		r.state(line, s)
	case *lang.Check:
		r.check(line, s)
	case *lang.CallStmt:
		r.callStmt(line, s)
	case *lang.Solve:
		r.solve(line, s)
	case *lang.Until:
		line.Kind = Until // only within a solve, which resolves it
	case *lang.Use:
		r.use(line, s)
	case *lang.Accept:
		line.Kind = AcceptLine
		on := s.On.Text
		if s.Of != nil {
			on = s.Of.Text + "." + on
		}
		if s.State {
			on = "state " + on
		}
		r.sheet.Accepts = append(r.sheet.Accepts, &Accept{Code: diag.Code(s.Code.Text), On: on, Reason: s.Caption, Line: line})
	case *lang.Method:
		r.method(line, s)
	case *lang.Data:
		r.data(line, s)
	case *lang.Table:
		line.Kind = TableLine
		r.labelled(line, s.Name, "table")
	case *lang.Answer:
		line.Kind = AnswerLine
	case *lang.Cycle:
		r.cycle(line, s)
	case *lang.Chart:
		line.Kind = ChartLine
		r.labelled(line, s.Name, "chart")
	case *lang.Study:
		line.Kind = StudyLine
		r.defineSpace(line, s.Name, "study")
	case *lang.Bad:
		r.badLine(line, s)
	}
	r.noteCites(line)
	return line
}

// tooLong counts a line of the sheet and reports the first that is too many.
func (r *resolver) tooLong(line *Line, s lang.Stmt) bool {
	if r.shared.lines++; r.shared.lines <= MaxLines {
		return false
	}
	if !r.shared.over {
		r.shared.over = true
		r.fail(line, CodeExpansion, s.Span(), "the sheet comes to more than %d lines once methods and used sheets are expanded", MaxLines).
			hint("split it into sheets that hand on their answers, or call fewer methods")
	}
	return true
}

// badLine keeps what an unreadable line would have defined, so that its dependents wait.
func (r *resolver) badLine(line *Line, s *lang.Bad) {
	line.Kind = BadLine
	for _, p := range r.sheet.Problems {
		if p.File == line.File && p.Severity == diag.Error && p.Span.Start >= s.Loc.Start && p.Span.Start <= s.Loc.End {
			line.Problem = p
			break
		}
	}
	if line.Problem == nil {
		// The fault is in another file's text, or was reported at a place of its own.
		line.Problem = &diag.Problem{Code: "syntax", Severity: diag.Error, File: line.File, Span: s.Loc, Message: "this line cannot be read"}
	}
	for _, n := range s.Defines {
		r.scope.bad[n.Key()] = line
	}
	for _, n := range s.States {
		r.scope.bad["state "+n.Text] = line
		for _, p := range allProperties() {
			r.scope.bad[r.propertySymbol(p, n)] = line
		}
	}
	for _, n := range s.Spaces {
		r.scope.bad["space "+n.Text] = line
	}
}
