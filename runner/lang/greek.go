package lang

import "strings"

// greekLetter is the letter that a Greek word stands for, or "". Only words whose letter does not
// look like a Latin one are known, so Alpha or Rho stay as they are. A Greek letter stands for
// itself.
func greekLetter(word string) string {
	switch word {
	case "alpha", "α":
		return "α"
	case "beta", "β":
		return "β"
	case "gamma", "γ":
		return "γ"
	case "delta", "δ":
		return "δ"
	case "epsilon", "eps", "ε":
		return "ε"
	case "zeta", "ζ":
		return "ζ"
	case "eta", "η":
		return "η"
	case "theta", "θ":
		return "θ"
	case "iota", "ι":
		return "ι"
	case "kappa", "κ":
		return "κ"
	case "lambda", "λ":
		return "λ"
	case "mu", "μ":
		return "μ"
	case "nu", "ν":
		return "ν"
	case "xi", "ξ":
		return "ξ"
	case "pi", "π":
		return "π"
	case "rho", "ρ":
		return "ρ"
	case "sigma", "σ":
		return "σ"
	case "tau", "τ":
		return "τ"
	case "upsilon", "υ":
		return "υ"
	case "phi", "φ":
		return "φ"
	case "chi", "χ":
		return "χ"
	case "psi", "ψ":
		return "ψ"
	case "omega", "ω":
		return "ω"
	case "Gamma", "Γ":
		return "Γ"
	case "Delta", "Δ":
		return "Δ"
	case "Theta", "Θ":
		return "Θ"
	case "Lambda", "Λ":
		return "Λ"
	case "Xi", "Ξ":
		return "Ξ"
	case "Pi", "Π":
		return "Π"
	case "Sigma", "Σ":
		return "Σ"
	case "Phi", "Φ":
		return "Φ"
	case "Psi", "Ψ":
		return "Ψ"
	case "Omega", "Ω":
		return "Ω"
	}
	return ""
}

// greekWord is the word for a Greek letter, or "".
func greekWord(letter string) string {
	if ascii(letter) {
		return ""
	}
	for word := range strings.FieldsSeq(greekWords) {
		if greekLetter(word) == letter {
			return word
		}
	}
	return ""
}

const greekWords = "alpha beta gamma delta epsilon zeta eta theta iota kappa lambda mu nu xi pi rho sigma tau upsilon phi chi psi omega " +
	"Gamma Delta Theta Lambda Xi Pi Sigma Phi Psi Omega"

// Pair is two names of different scripts that look alike.
type Pair struct{ First, Second Name }

// Lookalikes finds names that are different symbols and yet look alike, because a letter of one
// is drawn like another script's letter in the other (Latin A, Greek Α). Letters that only
// resemble each other and that the trade uses side by side (ρ and p, ν and v) are not alike. Each
// name is paired once, with the first that looks like it.
func Lookalikes(names []Name) []Pair {
	first := map[string]Name{}
	keys := map[string]bool{}
	var pairs []Pair
	for _, n := range names {
		key := n.Key()
		if keys[key] {
			continue
		}
		keys[key] = true
		look := skeleton(key)
		if other, ok := first[look]; ok {
			pairs = append(pairs, Pair{other, n})
			continue
		}
		first[look] = n
	}
	return pairs
}

const (
	// The pairs that Unicode's table of confusable characters (UTS 39) calls alike and that are
	// drawn identically in most text fonts; from memory.
	alikeGreek   = "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧοϲϳ"
	alikeGreekTo = "ABEZHIKMNOPTYXocj"
	alikeCyril   = "АВЕКМНОРСТУХЅІЈаеорсухѕіјһԁ"
	alikeCyrilTo = "ABEKMHOPCTYXSIJaeopcyxsijhd"
)

// Borrowed reports a key with a letter that is drawn like one of another script. Without one, no name
// of a sheet looks like another.
func Borrowed(key string) bool {
	return !ascii(key) && strings.ContainsAny(key, alikeGreek+alikeCyril+"ГПФ")
}

func skeleton(s string) string {
	if !Borrowed(s) {
		return s
	}
	out := make([]rune, 0, len(s))
	for _, r := range s {
		if to := mapped(r, alikeGreek, alikeGreekTo); to != 0 {
			r = to
		} else if to := mapped(r, alikeCyril, alikeCyrilTo); to != 0 {
			r = to
		} else if r == 'Г' {
			r = 'Γ'
		} else if r == 'П' {
			r = 'Π'
		} else if r == 'Ф' {
			r = 'Φ'
		}
		out = append(out, r)
	}
	return string(out)
}
