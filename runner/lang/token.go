package lang

import "workings/runner/diag"

type kind uint8

const (
	tName   kind = iota + 1
	tWord        // a word of the language: in, within, state, …
	tID          // the word that names a state, or the code after accept
	tNumber      // followed by its tUnit, if it has one
	tUnit
	tString
	tOp // operators, brackets and separators; their canonical spelling is in text
	tBad
)

// token is the smallest part of a line.
type token struct {
	text string // canonical: "*" for ·, the value of a string
	at   diag.Span
	kind kind
	// gap says that a blank stands before it.
	gap bool
	// match is the index of the other bracket, from the first token of the block; for a tBad,
	// the index of its problem.
	match int32
}

func (t *token) op(text string) bool   { return t.kind == tOp && t.text == text }
func (t *token) word(text string) bool { return t.kind == tWord && t.text == text }

func (t *token) id(text string) bool { return t.kind == tID && t.text == text }

// name reports a name token of that text: a word that means something only in its place.
func (t *token) name(text string) bool { return t.kind == tName && t.text == text }

// reserved reports a word of the language, which no symbol may have as its name.
func reserved(word string) bool {
	switch word {
	case "in", "and", "or", "not", "within":
		return true
	}
	return opening(word)
}

// opening reports a word that opens a line of a calc fence.
func opening(word string) bool {
	switch word {
	case "fluid", "state", "check", "caution", "solve", "until", "use", "accept":
		return true
	}
	return false
}

func openings() []string {
	return []string{"fluid", "state", "check", "caution", "solve", "until", "use", "accept"}
}

// afterNumber reports a word that may follow a number with a space and is not its unit.
func afterNumber(word string) bool {
	switch word {
	case "is", "to", "digit", "digits", "as", "with", "on", "from", "between":
		return true
	}
	return reserved(word)
}

// studyAfterNumber reports a word that may follow a number in a study.
func studyAfterNumber(word string) bool {
	switch word {
	case "points", "point", "logarithmic", "by", "subject", "over", "crossing":
		return true
	}
	return false
}

// comparison reports an operator that compares.
func comparison(op string) bool {
	switch op {
	case "==", "!=", "<", "<=", ">", ">=":
		return true
	}
	return false
}

// infix reports an operator that takes a value on both sides.
func infix(t *token) bool {
	switch t.kind {
	case tOp:
		switch t.text {
		case "+", "-", "*", "/", "^":
			return true
		}
		return comparison(t.text)
	case tWord:
		return t.text == "and" || t.text == "or"
	}
	return false
}

// goesOn reports a last token after which the line continues.
func goesOn(t *token) bool {
	if infix(t) {
		return true
	}
	if t.kind == tOp {
		switch t.text {
		case ",", "=", "(", "?", ":", "±", "..", "->":
			return true
		}
	}
	return t.kind == tWord && (t.text == "not" || t.text == "within")
}

// carriesOn reports a first token that cannot begin a line, so that it continues one whose
// bracket is still open.
func carriesOn(t *token) bool {
	return infix(t) || t.kind == tOp && (t.text == ")" || t.text == "," || t.text == "?" || t.text == ":")
}
