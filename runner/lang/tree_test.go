package lang

import (
	"path/filepath"
	"strings"
	"testing"

	"workings/runner/diag"
)

func TestTrees(t *testing.T) {
	for _, path := range files(t, filepath.Join("testdata", "trees", "*.md")) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			file, sources := fences(filepath.Base(path), read(t, path))
			var out strings.Builder
			for _, src := range sources {
				b, problems := Parse(file, src)
				for _, p := range problems {
					var w strings.Builder
					diag.Print(&w, p, diag.Style{})
					t.Errorf("unexpected problem:\n%s", w.String())
				}
				out.WriteString(src.Kind + tree(b.Stmts) + "\n\n")
			}
			golden(t, strings.TrimSuffix(path, ".md")+".tree", out.String())
		})
	}
}

// The text that an expression's place covers is that expression, and lies within its parent's.
func TestSpans(t *testing.T) {
	seen := 0
	for _, path := range files(t, filepath.Join("testdata", "trees", "*.md")) {
		file, sources := fences(path, read(t, path))
		for _, src := range sources {
			b, _ := Parse(file, src)
			for _, s := range b.Stmts {
				if s.Span().Start < src.Span.Start || s.Span().End > src.Span.End || s.Span().Start >= s.Span().End {
					t.Errorf("%s: %T at %v lies outside its fence %v", path, s, s.Span(), src.Span)
				}
				outer := s.Span()
				Walk(s, func(n Node) bool {
					at := n.Span()
					if at.Start < outer.Start || at.End > outer.End {
						t.Errorf("%s: %T %q at %v lies outside its line %v", path, n, at.In(file), at, outer)
					}
					e, ok := n.(Expr)
					if !ok {
						return true
					}
					text := at.In(file)
					if _, state := e.(*StateRef); state || strings.ContainsAny(text, "\n") {
						return true
					}
					if strings.ContainsAny(text, "²⁻") && !strings.HasPrefix(text, "x") {
						return true // the parts of a superscript share its place
					}
					got, problems := ParseExpr(file, Line{text, at.Start})
					if len(problems) > 0 || tree(got) != tree(e) {
						t.Errorf("%s: the text %q of %s reads as %s %v", path, text, tree(e), tree(got), problems)
					}
					seen++
					return true
				})
			}
		}
	}
	if seen < 200 {
		t.Errorf("only %d expressions looked at", seen)
	}
}

// Names, units, captions and operators carry their own places.
func TestPartSpans(t *testing.T) {
	file, src := fence("calc", "η_c  =  300 K  +  x·gt.T2   in  kJ/kg   //  a *caption*  ")
	b, problems := Parse(file, src)
	if len(problems) > 0 {
		t.Fatal(problems[0].Message)
	}
	d := b.Stmts[0].(*Define)
	sum := d.X.(*Binary)
	product := sum.Y.(*Binary)
	for _, c := range []struct {
		at   diag.Span
		want string
	}{
		{d.Loc, "η_c  =  300 K  +  x·gt.T2   in  kJ/kg"},
		{d.Name.Loc, "η_c"},
		{sum.OpAt, "+"},
		{sum.X.(*Number).Unit.Loc, "K"},
		{product.OpAt, "·"},
		{product.Y.Span(), "gt.T2"},
		{product.Y.(*Ident).Of.Loc, "gt"},
		{product.Y.(*Ident).Name.Loc, "T2"},
		{d.In.Loc, "kJ/kg"},
		{d.Caption.Loc, "a *caption*"},
	} {
		if got := c.at.In(file); got != c.want {
			t.Errorf("place covers %q, want %q", got, c.want)
		}
	}
}

// What a bad line would have defined, so that lines that use it wait.
func TestBadDefines(t *testing.T) {
	for _, c := range []struct{ text, defines, states, spaces string }{
		{"x = 3 +", "x", "", ""},
		{"x == 3", "x", "", ""},
		{"T1 300 K", "T1", "", ""},
		{"state 2 = air(p2 s1)", "", "2", ""},
		{"state 2, w = f(state 1", "w", "2", ""},
		{"w, state 2 = 3", "w", "2", ""},
		{"fluid g = 3", "", "", "g"},
		{`use "gt.md" as gt with`, "", "", "gt"},
		{"use gas_turbine as g", "", "", "gas_turbine"},
		{"check x = 3", "", "", ""},
		{"accept x on y", "", "", ""},
		{"solve x between 1\n  y = 3\n  state 3 = air(p, T)\nuntil y == 3", "x y", "3", ""},
		{"solve (a, b) from (1)\n  y = 3 3\nuntil y == 3", "a b y", "", ""},
		{"solve x between 1 and 2\n  state 3, w = f(state 1)\n  fluid g\nuntil y", "x w", "3", "g"},
		{"a\u202Eb = 3", "", "", ""},
	} {
		file, src := fence("calc", c.text)
		b, problems := Parse(file, src)
		if len(problems) == 0 || len(b.Stmts) != 1 {
			t.Errorf("%q: %d problems, %d statements", c.text, len(problems), len(b.Stmts))
			continue
		}
		bad, ok := b.Stmts[0].(*Bad)
		if !ok {
			t.Errorf("%q is read as %T", c.text, b.Stmts[0])
			continue
		}
		list := func(names []Name) string {
			var s []string
			for _, n := range names {
				s = append(s, n.Text)
			}
			return strings.Join(s, " ")
		}
		if list(bad.Defines) != c.defines || list(bad.States) != c.states || list(bad.Spaces) != c.spaces {
			t.Errorf("%q would define [%s] [%s] [%s], want [%s] [%s] [%s]", c.text,
				list(bad.Defines), list(bad.States), list(bad.Spaces), c.defines, c.states, c.spaces)
		}
	}
}

func TestParseExprAndShown(t *testing.T) {
	file := diag.NewFile("--set", []byte("12 bar"))
	x, problems := ParseExpr(file, Line{"12 bar", 0})
	if len(problems) > 0 || FormatExpr(x) != "12 bar" {
		t.Errorf("12 bar reads as %v %v", x, problems)
	}
	for _, c := range []struct {
		text string
		code diag.Code
	}{{"", CodeOperand}, {"  ", CodeOperand}, {"1 +", CodeOperand}, {"3 // x", CodeCaption}, {"a = 3", CodeEquals}, {"a\u200bb", CodeInvisible}, {"(1", CodeBracket}, {"3 kg in g", CodeUnexpected}} {
		file := diag.NewFile("--set", []byte(c.text))
		x, problems := ParseExpr(file, Line{c.text, 0})
		if x != nil || len(problems) != 1 || problems[0].Code != c.code {
			t.Errorf("%q reads as %v with %v, want %s", c.text, x, problems, c.code)
		}
	}
	s, problems := ParseShown(file, Line{"gt.w_net in kJ/kg, 3 digits", 0})
	if len(problems) > 0 || s.text() != "gt.w_net in kJ/kg, 3 digits" || s.Digits != 3 || s.Of.Text != "gt" {
		t.Errorf("reads as %q %v", s.text(), problems)
	}
	for _, text := range []string{"", "3", "w // x", "w in", "w\u200b", "w, 99 digits", "(w", "w, 3"} {
		if _, problems := ParseShown(diag.NewFile("x", []byte(text)), Line{text, 0}); len(problems) != 1 {
			t.Errorf("%q has problems %v", text, problems)
		}
	}
}

func TestWalk(t *testing.T) {
	file, src := fence("calc", "solve x between a and b\n  state 3 = air(p = c, d)\n  solve (u, v) from (e, f)\n  until u == g\n  until v == h\nuntil i is largest\ncheck j == k within l\ncheck m within n .. o\nuse \"q.md\" as q with p = r\nstate 1, w = s(state 2, t)\nfluid f1 = perfect(k = y)")
	b, problems := Parse(file, src)
	if len(problems) > 0 {
		t.Fatal(problems[0].Message)
	}
	var names []string
	for _, s := range b.Stmts {
		Walk(s, func(n Node) bool {
			switch n := n.(type) {
			case *Ident:
				names = append(names, n.Name.Text)
			case *StateRef:
				names = append(names, "state "+n.ID.Text)
			}
			return true
		})
	}
	if got := strings.Join(names, " "); got != "a b c d e f u g v h i j k l m n o r state 2 t y" {
		t.Errorf("walked over %s", got)
	}
	file, src = fence("inputs", "x = a ± b within c .. d*e")
	b, _ = Parse(file, src)
	names = nil
	Walk(b.Stmts[0], func(n Node) bool {
		names = append(names, strings.TrimPrefix(strings.Split(tree(n), " ")[0], "("))
		_, product := n.(*Binary)
		return !product
	})
	if got := strings.Join(names, " "); got != "Input a b c *" {
		t.Errorf("walked over %s", got)
	}
}
