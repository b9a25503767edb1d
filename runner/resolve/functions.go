package resolve

import (
	"math"

	"workings/propsdb"
	"workings/runner/lang"
	"workings/units"
)

// Function is a built-in function of the language.
type Function struct {
	Name     string
	Min, Max int // arguments; Max −1: any number
	Doc      string
	Example  string // an expression, with Result its value in SI: a test runs it
	Result   float64
	Rule     Rule
	Out      string // RuleAltitude: the unit of the result
	// Eval computes it in SI. NaN means that the arguments are outside its domain, which
	// Domain then names.
	Eval   func(x []float64) float64
	Domain string
}

// Rule says what a function takes and gives.
type Rule int

// The rules.
const (
	RulePure     Rule = iota // dimensionless to dimensionless
	RuleRoot                 // the square root of a dimension
	RuleSame                 // keeps the dimension, kind and unit of its argument
	RuleTogether             // all arguments alike; the result is one of them or their mean
	RuleSum                  // as a sum of its arguments
	RuleAltitude             // from a geopotential altitude to a quantity in Out
)

// Functions lists the built-in functions, in the order in which they are documented.
func Functions() []*Function {
	one := func(f func(float64) float64) func([]float64) float64 {
		return func(x []float64) float64 { return f(x[0]) }
	}
	pure := func(name, doc, example string, result float64, f func(float64) float64, domain string) *Function {
		return &Function{Name: name, Min: 1, Max: 1, Doc: doc, Example: example, Result: result, Eval: one(f), Domain: domain}
	}
	return []*Function{
		{Name: "sqrt", Min: 1, Max: 1, Rule: RuleRoot, Doc: "square root, of any dimension", Example: "sqrt(16 m²)", Result: 4, Eval: one(math.Sqrt), Domain: "a number below zero has no real square root"},
		pure("exp", "e to the power of x", "exp(0)", 1, math.Exp, ""),
		pure("ln", "natural logarithm", "ln(1)", 0, propsdb.Ln, "a logarithm needs a number above zero"),
		pure("log10", "logarithm to base 10", "log10(1000)", 3, math.Log10, "a logarithm needs a number above zero"),
		pure("sin", "sine of an angle in radians or °", "sin(30 deg)", 0.5, math.Sin, ""),
		pure("cos", "cosine", "cos(60 deg)", 0.5, math.Cos, ""),
		pure("tan", "tangent", "tan(45 deg)", 1, math.Tan, ""),
		pure("asin", "inverse sine, in radians", "asin(1)", math.Pi/2, math.Asin, "an inverse sine needs a number from -1 to 1"),
		pure("acos", "inverse cosine, in radians", "acos(1)", 0, math.Acos, "an inverse cosine needs a number from -1 to 1"),
		pure("atan", "inverse tangent, in radians", "atan(1)", math.Pi/4, math.Atan, ""),
		pure("sinh", "hyperbolic sine", "sinh(0)", 0, math.Sinh, ""),
		pure("cosh", "hyperbolic cosine", "cosh(0)", 1, math.Cosh, ""),
		pure("tanh", "hyperbolic tangent", "tanh(0)", 0, math.Tanh, ""),
		{Name: "abs", Min: 1, Max: 1, Rule: RuleSame, Doc: "magnitude", Example: "abs(-3 K)", Result: 3, Eval: one(math.Abs)},
		{Name: "min", Min: 1, Max: -1, Rule: RuleTogether, Doc: "the smallest", Example: "min(3 K, 2 K)", Result: 2, Eval: func(x []float64) float64 {
			m := x[0]
			for _, v := range x {
				m = math.Min(m, v)
			}
			return m
		}},
		{Name: "max", Min: 1, Max: -1, Rule: RuleTogether, Doc: "the largest", Example: "max(3 K, 2 K)", Result: 3, Eval: func(x []float64) float64 {
			m := x[0]
			for _, v := range x {
				m = math.Max(m, v)
			}
			return m
		}},
		{Name: "mean", Min: 1, Max: -1, Rule: RuleTogether, Doc: "the arithmetic mean; of temperatures it is a temperature", Example: "mean(300 K, 400 K)", Result: 350, Eval: func(x []float64) float64 {
			return total(x) / float64(len(x))
		}},
		isa("isa_T", "temperature of the standard atmosphere (ISO 2533) at a geopotential altitude", "K", "isa_T(11 km)", 216.65, func(a propsdb.Atmosphere) float64 { return a.T }),
		isa("isa_p", "pressure of the standard atmosphere", "kPa", "isa_p(0 m)", 101325, func(a propsdb.Atmosphere) float64 { return a.P }),
		isa("isa_rho", "density of the standard atmosphere", "kg/m^3", "isa_rho(0 m)*(1 m³/kg)", 1.2250000181242883, func(a propsdb.Atmosphere) float64 { return a.Rho }),
		isa("isa_c", "speed of sound in the standard atmosphere", "m/s", "isa_c(0 m)", math.Sqrt(1.4*287.05287*288.15), func(a propsdb.Atmosphere) float64 { return a.C }),
		{Name: "sum", Min: 1, Max: -1, Rule: RuleSum, Doc: "the sum", Example: "sum(1 kW, 2 kW, 3 kW)", Result: 6000, Eval: total},
	}
}

// isa is a function of the standard atmosphere.
func isa(name, doc, out, example string, result float64, get func(propsdb.Atmosphere) float64) *Function {
	return &Function{Name: name, Min: 1, Max: 1, Rule: RuleAltitude, Out: out, Doc: doc, Example: example, Result: result,
		Domain: "the standard atmosphere is here from -2 km to 20 km of geopotential altitude",
		Eval: func(x []float64) float64 {
			a, err := propsdb.StandardAtmosphere(x[0])
			if err != nil {
				return math.NaN()
			}
			return get(a)
		}}
}

func total(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

// functionNamed finds a built-in, or nil.
func functionNamed(name string) *Function {
	for _, f := range builtins() {
		if f.Name == name {
			return f
		}
	}
	return nil
}

// Constant is a named constant of the language.
type Constant struct {
	Name   string
	Value  float64 // SI
	Unit   units.Unit
	Doc    string
	Source string
}

// Constants lists the built-in constants.
func Constants() []Constant {
	return []Constant{
		{"pi", math.Pi, units.Unit{}, "ratio of a circle's circumference to its diameter", "mathematics"},
		{"R_u", propsdb.MolarGasConstant, mustUnit("J/(mol*K)"), "molar gas constant", "exact in the 2019 SI (CODATA 2018); the database gases use 8.314510 J/(mol·K), to which their fits belong"},
		{"g_n", 9.80665, mustUnit("m/s^2"), "standard acceleration of free fall", "3rd CGPM (1901), exact"},
	}
}

// mustUnit is for units written in this file, which a test reads through.
func mustUnit(text string) units.Unit {
	u, err := units.Parse(text)
	if err != nil {
		panic(err)
	}
	return u
}

func constantNamed(key string) (Constant, bool) {
	c, ok := constantsByKey()[key]
	return c, ok
}

// callExpr types a call within an expression: a built-in, or a look-up in a data table.
func (r *resolver) callExpr(line *Line, e *lang.Call) *Expr {
	if e.Of != nil {
		return r.dataCall(line, e)
	}
	switch e.Fn.Text {
	case "integrate":
		return r.overInterval(line, e, OpIntegrate)
	case "smallest":
		return r.overInterval(line, e, OpSmallest)
	case "largest":
		return r.overInterval(line, e, OpLargest)
	case "heating_value":
		return r.heatingValue(line, e)
	}
	if sig, ok := fluidFunctions()[e.Fn.Text]; ok {
		return r.fluidCall(line, e, sig)
	}
	f := functionNamed(e.Fn.Text)
	if f == nil {
		r.unknownFunction(line, e)
		return nil
	}
	for _, a := range e.Args {
		if a.Name != nil {
			r.fail(line, CodeArguments, a.Loc, "%s takes its arguments by position", f.Name).hint("write %s(%s)", f.Name, lang.FormatExpr(a.X))
			return nil
		}
	}
	if n := len(e.Args); n < f.Min || f.Max >= 0 && n > f.Max {
		r.fail(line, CodeArguments, e.Loc, "%s takes %s, and this gives %d", f.Name, countText(f), n).hint("for example %s", f.Example)
		return nil
	}
	args := make([]*Expr, len(e.Args))
	for i, a := range e.Args {
		args[i] = r.expr(line, a.X)
	}
	for _, a := range args {
		if a == nil || !r.truthless(line, a) {
			return nil
		}
	}
	out := &Expr{Op: OpFunc, Fn: f, Args: args, Src: e}
	return r.applyRule(line, f, out)
}

func countText(f *Function) string {
	switch {
	case f.Max < 0:
		return "one argument or more"
	case f.Min == 1:
		return "one argument"
	}
	return "arguments"
}

func (r *resolver) applyRule(line *Line, f *Function, out *Expr) *Expr {
	a := out.Args[0]
	switch f.Rule {
	case RulePure:
		if !a.Type.Dim.IsNone() {
			r.fail(line, CodeDimension, a.Src.Span(), "%s needs a dimensionless argument, and this is %s", f.Name, a.Type.describe()).
				label("%s", r.sideText(a)).hint("divide it by a quantity of its own kind: %s(a/b)", f.Name)
			return nil
		}
		return out
	case RuleRoot:
		if isPointLiteral(a) {
			r.pointFault(line, a, a.Src.Span(), "%s under a root counts from an arbitrary zero", pointName(a.Type))
			return nil
		}
		d, err := a.Type.Dim.Pow(1, 2)
		if err != nil {
			r.fail(line, CodeExponent, out.Src.Span(), "the root of %s has no simple dimension", a.Type.describe())
			return nil
		}
		out.Type.Dim = d
		return out
	case RuleAltitude:
		if a.Type.Dim != units.DimLength() {
			r.fail(line, CodeDimension, a.Src.Span(), "%s needs an altitude, and this is %s", f.Name, a.Type.describe()).
				label("%s", r.sideText(a)).hint("for example %s", f.Example)
			return nil
		}
		u := mustUnit(f.Out)
		out.Type.Dim = u.Dimension()
		out.Unit, out.HasU = u, true
		return out
	case RuleSame:
		if a.Type.Kind == Point {
			r.pointFault(line, a, a.Src.Span(), "the magnitude of %s means nothing", pointName(a.Type))
			return nil
		}
		out.Type = a.Type
		out.Unit, out.HasU = a.Unit, a.HasU
		return out
	}
	out.Type = a.Type
	out.Unit, out.HasU = a.Unit, a.HasU
	for _, b := range out.Args[1:] {
		if f.Rule == RuleSum && b.Type.Kind == Point {
			r.pointFault(line, b, b.Src.Span(), "%s cannot be added", pointName(b.Type))
			return nil
		}
		if !r.comparable(line, a, b, out.Src.Span()) {
			return nil
		}
		out.Type.Kind = joinScale(out.Type.Kind, b.Type.Kind)
		joined := &Expr{Unit: out.Unit, HasU: out.HasU}
		out.Unit, out.HasU = commonUnit(joined, b)
		if f.Rule == RuleSum {
			out.Type.Datum = out.Type.Datum.add(b.Type.Datum, 1)
		} else if b.Type.Datum == nil {
			out.Type.Datum = nil
		}
	}
	return out
}
