package lang

import (
	goast "go/ast"
	goparser "go/parser"
	gotoken "go/token"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"workings/runner/diag"
)

func parseText(t interface{ Fatalf(string, ...any) }, text string) Expr {
	file := diag.NewFile("x", []byte(text))
	x, problems := ParseExpr(file, Line{text, 0})
	if len(problems) > 0 {
		t.Fatalf("%q: %s at %q", text, problems[0].Message, problems[0].Span.In(file))
	}
	return x
}

func TestFormatExpr(t *testing.T) {
	for _, c := range [][2]string{
		{"a+b * c", "a + b*c"},
		{"- a^ -2", "-a^-2"},
		{"( a )", "(a)"},
		{"85%", "85 %"},
		{"5 m/s", "5 m/s"},
		{"5 m / s", "5 m / s"},
		{"5 m/2", "5 m / 2"},
		{"-(2 kg)*x", "-(2 kg)*x"},
		{"-2 kg *x", "-2 kg * x"},
		{"a*2 kg *x", "a*2 kg * x"},
		{"x²·y", "x^2*y"},
		{"a≤b", "a <= b"},
		{"not(a==b)and c", "not (a == b) and c"},
		{"a?b:c", "a ? b : c"},
		{"f ( x,y = 2 )", "f(x, y = 2)"},
		{"gt.x", "gt.x"},
		{"1.50E3", "1.50E3"},
		{"- -a", "--a"},
	} {
		x := parseText(t, c[0])
		if got := FormatExpr(x); got != c[1] {
			t.Errorf("%s is written %s, want %s", c[0], got, c[1])
		}
		if again := parseText(t, FormatExpr(x)); tree(again) != tree(x) {
			t.Errorf("%s reads %s, want %s", FormatExpr(x), tree(again), tree(x))
		}
	}
}

func TestSubstitute(t *testing.T) {
	values := map[string]string{"T": "300 K", "n": "-5 kJ/kg", "k": "1.4", "m": "-2", "e": "85 %", "g": "1.2e5"}
	value := func(e Expr) (string, bool) {
		switch e := e.(type) {
		case *Ident:
			s, ok := values[e.Name.Text]
			return s, ok
		case *Call:
			if e.Of != nil {
				return "305.2 kJ/kg", true
			}
		}
		return "", false
	}
	for _, c := range [][2]string{
		{"T + n", "300 K + (-5 kJ/kg)"},
		{"n + T", "-5 kJ/kg + 300 K"},
		{"T - (n - T)", "300 K - (-5 kJ/kg - 300 K)"},
		{"T*k", "300 K * 1.4"},
		{"k*T", "1.4*300 K"},
		{"k*T*k", "1.4*300 K * 1.4"},
		{"k*n", "1.4*(-5 kJ/kg)"},
		{"T/T", "300 K / (300 K)"},
		{"k/k", "1.4/1.4"},
		{"k/e", "1.4/(85 %)"},
		{"k/g", "1.4/1.2e5"},
		{"T^2", "(300 K)^2"},
		{"k^2", "1.4^2"},
		{"m^2", "(-2)^2"},
		{"k^m", "1.4^(-2)"},
		{"k^-m", "1.4^-(-2)"},
		{"k^-e", "1.4^-(85 %)"},
		{"-m", "-(-2)"},
		{"-k", "-1.4"},
		{"m < n", "-2 < (-5 kJ/kg)"},
		{"m ? n : T", "-2 ? -5 kJ/kg : 300 K"},
		{"f(n, x = T)", "f(-5 kJ/kg, x = 300 K)"},
		{"air.h(T = T)/k", "305.2 kJ/kg / 1.4"},
		{"not m == n", "not -2 == (-5 kJ/kg)"},
		{"unknown*T", "unknown*300 K"},
		{"(T)", "(300 K)"},
	} {
		got := string(AppendSubstituted(nil, parseText(t, c[0]), value))
		if got != c[1] {
			t.Errorf("%s becomes %s, want %s", c[0], got, c[1])
		}
		parseText(t, got) // still an expression
	}
}

// expressions draws the text of an expression by the grammar, with the spellings and spacings that
// authors use. The level is that of the operators it may hold outside brackets.
func expressions(depth int) *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string { return drawn(t, depth, 0) })
}

const (
	levelCond = iota
	levelOr
	levelAnd
	levelNot
	levelCompare
	levelSum
	levelProduct
	levelUnary
	levelPower
)

func drawn(t *rapid.T, depth, level int) string {
	gap := func() string { return rapid.SampledFrom([]string{"", " ", " ", "  ", "\t"}).Draw(t, "gap") }
	spaced := func(ops ...string) string { return " " + rapid.SampledFrom(ops).Draw(t, "op") + " " }
	pick := func(n int) bool { return depth > 0 && rapid.IntRange(0, n).Draw(t, "more") == 0 }
	switch level {
	case levelCond:
		if pick(5) {
			return drawn(t, depth-1, levelOr) + gap() + "?" + gap() + drawn(t, depth-1, levelCond) + gap() + ":" + gap() + drawn(t, depth-1, levelCond)
		}
	case levelOr:
		if pick(5) {
			return drawn(t, depth-1, levelAnd) + spaced("or") + drawn(t, depth-1, levelAnd)
		}
	case levelAnd:
		if pick(5) {
			return drawn(t, depth-1, levelNot) + spaced("and") + drawn(t, depth-1, levelNot)
		}
	case levelNot:
		if pick(5) {
			return "not " + drawn(t, depth-1, levelNot)
		}
	case levelCompare:
		if pick(3) {
			s := drawn(t, depth-1, levelSum)
			for range rapid.IntRange(1, 3).Draw(t, "links") {
				s += gap() + rapid.SampledFrom([]string{"<", "<=", "≤", "==", "!=", "≠", ">", "≥", ">="}).Draw(t, "op") + gap() + drawn(t, depth-1, levelSum)
			}
			return s
		}
	case levelSum:
		if pick(1) {
			return drawn(t, depth-1, levelSum) + spaced("+", "-", "−") + drawn(t, depth-1, levelProduct)
		}
	case levelProduct:
		if pick(1) {
			op := rapid.SampledFrom([]string{"*", "/", "·", "×"}).Draw(t, "op")
			left, right := drawn(t, depth-1, levelProduct), drawn(t, depth-1, levelUnary)
			if op == "/" && strings.ContainsAny(strings.TrimLeft(right, "+-− \t")[:1], "0123456789.") {
				right = "(" + right + ")"
			}
			return left + " " + op + " " + right
		}
	case levelUnary:
		if pick(3) {
			return rapid.SampledFrom([]string{"-", "+", "−"}).Draw(t, "sign") + gap() + drawn(t, depth-1, levelUnary)
		}
	case levelPower:
		if pick(2) {
			right := rapid.SampledFrom([]string{"x", "2", "-1", "(1/2)", "-x^2"}).Draw(t, "exponent")
			return drawn(t, 0, levelPower+1) + " ^" + gap() + right
		}
	default:
		switch kind := rapid.IntRange(0, 6).Draw(t, "operand"); {
		case kind == 0 && depth > 0:
			return "(" + gap() + drawn(t, depth-1, levelCond) + gap() + ")"
		case kind == 1 && depth > 0:
			s := "f("
			for i := range rapid.IntRange(0, 3).Draw(t, "args") {
				if i > 0 {
					s += ", " + gap()
				}
				s += rapid.SampledFrom([]string{"", "k =", "T= "}).Draw(t, "name") + drawn(t, depth-1, levelCond)
			}
			return s + ")"
		case kind < 4:
			return rapid.SampledFrom([]string{"x", "T2s", "η_c", "Q̇_in", "gt.w", "ΔT", "so_2", "T₂", "Deltamdot"}).Draw(t, "name")
		default:
			return rapid.SampledFrom([]string{"0", "1.50", "2e5", ".5", "1E-3"}).Draw(t, "number") +
				rapid.SampledFrom([]string{"", "", " K", "%", " %", " kJ/(kg·K)", "m³/s", " kJ/(kg K)", " °C", " s^-1"}).Draw(t, "unit")
		}
	}
	return drawn(t, depth, level+1)
}

func TestFormatExprProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := expressions(5).Draw(t, "text")
		x := parseText(t, text)
		once := FormatExpr(x)
		again := parseText(t, once)
		if tree(again) != tree(x) {
			t.Fatalf("%q\n reads %s\n%q\n reads %s", text, tree(x), once, tree(again))
		}
		if twice := FormatExpr(again); twice != once {
			t.Fatalf("%q is formatted to %q, then to %q", text, once, twice)
		}
		// Any values put in leave an expression.
		put := rapid.SampledFrom([]string{"3", "-3", "300 K", "-2.5 kJ/kg", "85 %", "1e-5"})
		parseText(t, string(AppendSubstituted(nil, x, func(e Expr) (string, bool) {
			_, ok := e.(*Ident)
			return put.Draw(t, "value"), ok
		})))
	})
}

// The grammar of + - * / comparisons, and/or and brackets is also that of Go, whose parser is
// independent of ours (go/parser of the standard library).
func TestGrammarAgainstGo(t *testing.T) {
	operand := rapid.SampledFrom([]string{"a", "b", "c", "2", "(a + b)", "(a < b)", "-a", "(c*-d)"})
	operator := rapid.SampledFrom([]string{"+", "-", "*", "/", "&&", "||"})
	rapid.Check(t, func(t *rapid.T) {
		text := operand.Draw(t, "x")
		for range rapid.IntRange(1, 12).Draw(t, "n") {
			text += " " + operator.Draw(t, "op") + " " + operand.Draw(t, "y")
		}
		x, err := goparser.ParseExpr(text)
		if err != nil {
			t.Fatal(err)
		}
		ours := strings.NewReplacer("&&", "and", "||", "or").Replace(text)
		if want, got := goTree(x), tree(parseText(t, ours)); got != want {
			t.Fatalf("%s\n got  %s\n want %s", ours, got, want)
		}
	})
}

func goTree(x goast.Expr) string {
	switch x := x.(type) {
	case *goast.Ident:
		return x.Name
	case *goast.BasicLit:
		return x.Value
	case *goast.ParenExpr:
		return "(Paren X=" + goTree(x.X) + ")"
	case *goast.UnaryExpr:
		return `(Unary Op="` + x.Op.String() + `" X=` + goTree(x.X) + ")"
	case *goast.BinaryExpr:
		if x.Op == gotoken.LSS {
			return `(Compare Ops=["<"] Operands=[` + goTree(x.X) + " " + goTree(x.Y) + "])"
		}
		op := map[gotoken.Token]string{gotoken.LAND: "and", gotoken.LOR: "or"}[x.Op]
		if op == "" {
			op = x.Op.String()
		}
		return "(" + op + " " + goTree(x.X) + " " + goTree(x.Y) + ")"
	}
	return "?"
}
