package runner_test

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// A second evaluator of the notebook's expressions, written for the recomputation test alone: it
// shares no code with the tool, reads text, and knows nothing but what the trace tells it.

// errApart marks an expression that is no ordinary one: it looks up properties or searches.
var errApart = errors.New("not an ordinary expression")

type tokenKind int

const (
	tokenEnd tokenKind = iota
	tokenNumber
	tokenName
	tokenSign
)

type lexeme struct {
	kind tokenKind
	text string
	unit string // of a number
}

func nameRune(r rune) bool {
	return unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.Mn, r) || r == '_'
}

// tokens splits an expression. A unit is what follows a number up to a space, a comma, a bracket
// that it did not open, a plus, a comparison or a minus that is no exponent's.
func tokens(text string) ([]lexeme, error) {
	var out []lexeme
	rs := []rune(text)
	for i := 0; i < len(rs); {
		r := rs[i]
		switch {
		case r == ' ' || r == '\n' || r == '\t' || r == '\r':
			i++
		case unicode.IsDigit(r) || r == '.' && i+1 < len(rs) && unicode.IsDigit(rs[i+1]):
			start := i
			for i < len(rs) && (unicode.IsDigit(rs[i]) || rs[i] == '.' && !(i+1 < len(rs) && rs[i+1] == '.')) {
				i++
			}
			if i < len(rs) && (rs[i] == 'e' || rs[i] == 'E') {
				j := i + 1
				if j < len(rs) && (rs[j] == '+' || rs[j] == '-') {
					j++
				}
				if j < len(rs) && unicode.IsDigit(rs[j]) {
					for i = j; i < len(rs) && unicode.IsDigit(rs[i]); i++ {
					}
				}
			}
			t := lexeme{kind: tokenNumber, text: string(rs[start:i])}
			j := i
			for j < len(rs) && rs[j] == ' ' {
				j++
			}
			if j < len(rs) && (unicode.IsLetter(rs[j]) || strings.ContainsRune("°%‰", rs[j])) {
				end := unitEnd(rs, j)
				if u := string(rs[j:end]); !keyword(u) {
					t.unit, i = u, end
				}
			}
			out = append(out, t)
		case nameRune(r):
			start := i
			for i < len(rs) && (nameRune(rs[i]) || rs[i] == '.' && i+1 < len(rs) && nameRune(rs[i+1]) && rs[i+1] != '.') {
				i++
			}
			out = append(out, lexeme{kind: tokenName, text: string(rs[start:i])})
		default:
			two := string(rs[i:min(i+2, len(rs))])
			switch two {
			case "==", "!=", "<=", ">=", "..":
				out = append(out, lexeme{kind: tokenSign, text: two})
				i += 2
				continue
			}
			switch r {
			case '·', '×':
				r = '*'
			case '−':
				r = '-'
			case '²', '³':
				out = append(out, lexeme{kind: tokenSign, text: "^"}, lexeme{kind: tokenNumber, text: map[rune]string{'²': "2", '³': "3"}[r]})
				i++
				continue
			}
			if !strings.ContainsRune("+-*/^()<>,?:=", r) {
				return nil, fmt.Errorf("%q in %q", r, text)
			}
			out = append(out, lexeme{kind: tokenSign, text: string(r)})
			i++
		}
	}
	return append(out, lexeme{kind: tokenEnd}), nil
}

func unitEnd(rs []rune, i int) int {
	depth := 0
	for ; i < len(rs); i++ {
		switch r := rs[i]; {
		case r == '(':
			depth++
		case r == ')':
			if depth--; depth < 0 {
				return i
			}
		case depth > 0:
		case r == '-' && rs[i-1] == '^' || r == '-' && i+1 < len(rs) && nameRune(rs[i+1]) && rs[i-1] == '^':
		case strings.ContainsRune(" ,+-<>=!?:\n", r):
			return i
		case r == '.' && i+1 < len(rs) && rs[i+1] == '.':
			return i
		}
	}
	return i
}

func keyword(s string) bool {
	switch s {
	case "in", "and", "or", "not", "within", "is":
		return true
	}
	return false
}

// environment is what an expression may name.
type environment struct {
	value func(name string) (float64, error)
	unit  func(text string, v float64) (float64, error)
	// table reads a data table: TABLE.COLUMN(KEY = at, …).
	table func(name, column string, keys []string, at []float64) (float64, error)
	bound map[string]float64 // variables of integrals
}

// reader is a recursive descent over tokens, from the loosest operator to the tightest. With skip
// set it only walks over the text.
type reader struct {
	ts   []lexeme
	at   int
	env  *environment
	loss float64 // how many times larger the terms of a sum were than the sum: its rounding counts for as much more
	skip int
}

func evaluate(text string, env *environment) (v, loss float64, err error) {
	ts, err := tokens(text)
	if err != nil {
		return 0, 0, err
	}
	r := &reader{ts: ts, env: env}
	v, err = r.conditional()
	if err == nil && r.ts[r.at].kind != tokenEnd {
		err = fmt.Errorf("%q is left over in %q", r.ts[r.at].text, text)
	}
	return v, r.loss, err
}

func (r *reader) sign(texts ...string) (string, bool) {
	t := r.ts[r.at]
	for _, s := range texts {
		if (t.kind == tokenSign || t.kind == tokenName) && t.text == s {
			r.at++
			return s, true
		}
	}
	return "", false
}

func (r *reader) expect(s string) error {
	if _, ok := r.sign(s); !ok {
		return fmt.Errorf("%q where %q is expected", r.ts[r.at].text, s)
	}
	return nil
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (r *reader) conditional() (float64, error) {
	c, err := r.either()
	if err != nil {
		return 0, err
	}
	if _, ok := r.sign("?"); !ok {
		return c, nil
	}
	arm := func(take bool) (float64, error) {
		if !take {
			r.skip++
			defer func() { r.skip-- }()
		}
		return r.conditional()
	}
	a, err := arm(c != 0)
	if err != nil {
		return 0, err
	}
	if err := r.expect(":"); err != nil {
		return 0, err
	}
	b, err := arm(c == 0)
	if c != 0 {
		return a, err
	}
	return b, err
}

// chain reads operators of one level from left to right.
func (r *reader) chain(next func() (float64, error), apply func(op string, a, b float64) float64, ops ...string) (float64, error) {
	a, err := next()
	for err == nil {
		op, ok := r.sign(ops...)
		if !ok {
			return a, nil
		}
		var b float64
		if b, err = next(); err == nil {
			a = apply(op, a, b)
		}
	}
	return a, err
}

func (r *reader) either() (float64, error) {
	return r.chain(r.both, func(_ string, a, b float64) float64 { return truth(a != 0 || b != 0) }, "or")
}

func (r *reader) both() (float64, error) {
	return r.chain(r.negated, func(_ string, a, b float64) float64 { return truth(a != 0 && b != 0) }, "and")
}

func (r *reader) negated() (float64, error) {
	if _, ok := r.sign("not"); ok {
		v, err := r.negated()
		return truth(v == 0), err
	}
	return r.comparison()
}

func (r *reader) comparison() (float64, error) {
	a, err := r.sum()
	if err != nil {
		return 0, err
	}
	holds, compared := true, false
	for {
		op, ok := r.sign("==", "!=", "<=", ">=", "<", ">")
		if !ok {
			break
		}
		b, err := r.sum()
		if err != nil {
			return 0, err
		}
		compared = true
		near := math.Abs(a-b) <= 1e-9*math.Abs(b)
		switch op {
		case "==":
			holds = holds && near
		case "!=":
			holds = holds && !near
		case "<":
			holds = holds && a < b
		case "<=":
			holds = holds && a <= b
		case ">":
			holds = holds && a > b
		case ">=":
			holds = holds && a >= b
		}
		a = b
	}
	if compared {
		return truth(holds), nil
	}
	return a, nil
}

func (r *reader) sum() (float64, error) {
	return r.chain(r.product, func(op string, a, b float64) float64 {
		sum := a + b
		if op == "-" {
			sum = a - b
		}
		if r.skip == 0 && sum != 0 {
			r.loss = math.Max(r.loss, math.Max(math.Abs(a), math.Abs(b))/math.Abs(sum))
		}
		return sum
	}, "+", "-")
}

func (r *reader) product() (float64, error) {
	return r.chain(r.signed, func(op string, a, b float64) float64 {
		if op == "*" {
			return a * b
		}
		return a / b
	}, "*", "/")
}

func (r *reader) signed() (float64, error) {
	if op, ok := r.sign("-", "+"); ok {
		v, err := r.signed()
		if op == "-" {
			v = -v
		}
		return v, err
	}
	return r.power()
}

func (r *reader) power() (float64, error) {
	base, err := r.primary()
	if err != nil {
		return 0, err
	}
	if _, ok := r.sign("^"); ok {
		e, err := r.signed()
		return math.Pow(base, e), err
	}
	return base, nil
}

func (r *reader) primary() (float64, error) {
	t := r.ts[r.at]
	r.at++
	switch {
	case t.kind == tokenNumber:
		v, err := strconv.ParseFloat(t.text, 64)
		if err == nil && t.unit != "" {
			v, err = r.env.unit(t.unit, v)
		}
		return v, err
	case t.kind == tokenSign && t.text == "(":
		v, err := r.conditional()
		if err != nil {
			return 0, err
		}
		return v, r.expect(")")
	case t.kind == tokenName && r.ts[r.at].kind == tokenSign && r.ts[r.at].text == "(":
		r.at++
		v, err := r.call(t.text)
		return v, err
	case t.kind == tokenName:
		if v, ok := r.env.bound[t.text]; ok {
			return v, nil
		}
		if r.skip > 0 {
			return 1, nil
		}
		v, err := r.env.value(t.text)
		return v, err
	}
	return 0, fmt.Errorf("%q begins no value", t.text)
}

func (r *reader) call(name string) (float64, error) {
	if name == "integrate" {
		return r.integral()
	}
	table, column, dotted := strings.Cut(name, ".")
	switch name {
	case "heating_value", "fuel_enthalpy", "flame_temperature", "dew_point", "relative_humidity", "humidity_ratio",
		"isa_T", "isa_p", "isa_rho", "isa_c", "smallest", "largest":
		return 0, errApart
	case "sum", "mean", "min", "max":
	default:
		if !dotted && functions()[name] == nil {
			return 0, fmt.Errorf("%s is no function", name)
		}
	}
	var keys []string
	var args []float64
	for {
		if dotted {
			keys = append(keys, r.ts[r.at].text)
			r.at++
			if err := r.expect("="); err != nil {
				return 0, err
			}
		}
		v, err := r.conditional()
		if err != nil {
			return 0, err
		}
		args = append(args, v)
		if _, more := r.sign(","); !more {
			break
		}
	}
	if err := r.expect(")"); err != nil {
		return 0, err
	}
	if r.skip > 0 {
		return 1, nil
	}
	if dotted {
		return r.env.table(table, column, keys, args)
	}
	total := 0.0
	for _, a := range args {
		total += a
	}
	switch name {
	case "sum":
		return total, nil
	case "mean":
		return total / float64(len(args)), nil
	case "min", "max":
		m := args[0]
		for _, a := range args {
			if name == "min" && a < m || name == "max" && a > m {
				m = a
			}
		}
		return m, nil
	}
	return functions()[name](args[0]), nil
}

func functions() map[string]func(float64) float64 {
	return map[string]func(float64) float64{"sqrt": math.Sqrt, "exp": math.Exp, "ln": math.Log, "log10": math.Log10, "abs": math.Abs,
		"sin": math.Sin, "cos": math.Cos, "tan": math.Tan, "asin": math.Asin, "acos": math.Acos, "atan": math.Atan,
		"sinh": math.Sinh, "cosh": math.Cosh, "tanh": math.Tanh}
}

// integral is integrate(expr, x, a, b) by Gauss–Legendre quadrature with 5 points in each of 512
// parts (points and weights: Abramowitz, Stegun, Table 25.4, from memory).
func (r *reader) integral() (float64, error) {
	body := r.at
	r.skip++
	_, err := r.conditional()
	r.skip--
	if err != nil {
		return 0, err
	}
	if err := r.expect(","); err != nil {
		return 0, err
	}
	name := r.ts[r.at].text
	r.at++
	var limits [2]float64
	for i := range limits {
		if err := r.expect(","); err != nil {
			return 0, err
		}
		if limits[i], err = r.conditional(); err != nil {
			return 0, err
		}
	}
	if err := r.expect(")"); err != nil {
		return 0, err
	}
	end := r.at
	bound := r.env.bound
	defer func() { r.env.bound, r.at = bound, end }()
	points := [...][2]float64{{0, 0.5688888888888889}, {0.5384693101056831, 0.47862867049936647}, {-0.5384693101056831, 0.47862867049936647},
		{0.906179845938664, 0.23692688505618908}, {-0.906179845938664, 0.23692688505618908}}
	const parts = 512
	half := (limits[1] - limits[0]) / parts / 2
	sum := 0.0
	for i := range parts {
		middle := limits[0] + half*float64(2*i+1)
		for _, q := range points {
			r.env.bound = map[string]float64{name: middle + half*q[0]}
			for k, v := range bound {
				if k != name {
					r.env.bound[k] = v
				}
			}
			r.at = body
			v, err := r.conditional()
			if err != nil {
				return 0, err
			}
			sum += q[1] * v * half
		}
	}
	return sum, nil
}
