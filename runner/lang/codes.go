package lang

import "workings/runner/diag"

// The problems this package finds.
const (
	CodeCharacter   = diag.Code("character")           // a character that the language has no use for
	CodeInvisible   = diag.Code("invisible-character") // a control or format character that cannot be seen
	CodeOperator    = diag.Code("operator")            // an operator spelled as elsewhere: **, &&, :=, =<
	CodeEquals      = diag.Code("equals")              // = where == is meant, or the other way round
	CodeNumber      = diag.Code("number")              // a number that cannot be read: 0,85 or 1 000
	CodeUnit        = diag.Code("unit")                // what stands where a unit belongs is no unit
	CodeUnitBracket = diag.Code("unit-bracket")        // a quantity with a unit straight after / or ^
	CodePercent     = diag.Code("ambiguous-percent")   // 85 % ± 1 %
	CodeDegrees     = diag.Code("degrees-difference")  // °C or °F where a difference belongs: ± 10 °C
	CodeOperand     = diag.Code("operand")             // a value is missing
	CodeNoOperator  = diag.Code("missing-operator")    // two values side by side: 2(x + 1), sin x
	CodeBracket     = diag.Code("bracket")             // a bracket not closed, not opened, or not round
	CodeName        = diag.Code("name")                // something else where a name belongs
	CodeWord        = diag.Code("reserved-word")       // a word of the language used as a name
	CodeString      = diag.Code("quotes")              // a text in quotes that does not end, or in other quotes
	CodeArgument    = diag.Code("argument")            // an argument list that cannot be read
	CodeLine        = diag.Code("line")                // a line that is none of the fence's kinds of line
	CodeFence       = diag.Code("wrong-fence")         // a line that belongs into another kind of fence
	CodeUnexpected  = diag.Code("unexpected")          // something left over where a line should end
	CodeState       = diag.Code("state-line")          // a state line that cannot be read
	CodeFluid       = diag.Code("fluid-line")          // a fluid line that cannot be read
	CodeCheck       = diag.Code("check-line")          // a check or caution that cannot be read
	CodeSpread      = diag.Code("spread")              // a spread that cannot be read
	CodeCorrelation = diag.Code("correlation")         // a correlation of two inputs that cannot be read
	CodeRange       = diag.Code("range")               // `lo .. hi` that cannot be read
	CodeSolve       = diag.Code("solve")               // a solve, or its until, that cannot be read
	CodeUse         = diag.Code("use-line")            // a use line that cannot be read
	CodeAccept      = diag.Code("accept-line")         // an accept line that cannot be read
	CodeAssume      = diag.Code("assume-line")         // an assumption without its label
	CodeMethod      = diag.Code("method")              // a method's first line that cannot be read
	CodeData        = diag.Code("data")                // a data fence that cannot be read
	CodeCycle       = diag.Code("cycle")               // a cycle fence that cannot be read
	CodeComponent   = diag.Code("component")           // a line of a cycle that cannot be read
	CodeChart       = diag.Code("chart")               // a chart fence that cannot be read
	CodeStudy       = diag.Code("study")               // a study fence that cannot be read
	CodeTable       = diag.Code("table")               // a table line that cannot be read
	CodeShown       = diag.Code("shown")               // an answer, or a symbol to be shown, that cannot be read
	CodeCaption     = diag.Code("caption")             // a caption where none can stand
	CodeInfo        = diag.Code("fence-info")          // words after a fence word that takes none
	CodeNesting     = diag.Code("limit-nesting")       // brackets, signs, powers or solves nested too deep
	CodeLength      = diag.Code("limit-line")          // a line of too many parts
)

// Limits of the language. They are far beyond what people write, and keep a hostile text from
// costing more than its size.
const (
	MaxNesting = 1000  // brackets, prefix operators, powers, conditionals, solves within each other
	MaxParts   = 20000 // names, numbers and operators of one line with those that go on from it
	MaxLines   = 200   // source lines that one line goes on over
)
