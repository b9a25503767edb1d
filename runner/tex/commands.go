package tex

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"workings/runner/diag"
)

const escapeHint = `\$ is a dollar sign that is only text`

// refused are commands that a formula on a sheet has no use for, with what to do instead.
func refused(command string) (why string, found bool) {
	switch command {
	case `\def`, `\gdef`, `\edef`, `\xdef`, `\let`, `\futurelet`, `\global`, `\long`,
		`\newcommand`, `\renewcommand`, `\providecommand`, `\expandafter`, `\noexpand`, `\csname`:
		return "write the formula out: no formula on a sheet defines commands", true
	case `\href`, `\url`:
		return "put the link into the text: [words](https://…)", true
	case `\includegraphics`:
		return "put the picture into the text: ![description](file.png)", true
	case `\class`, `\id`, `\style`, `\data`, `\htmlClass`, `\htmlId`, `\htmlStyle`, `\htmlData`, `\toggle`, `\endtoggle`, `\mathtip`, `\texttip`:
		return "leave it out: a formula says nothing to the page around it", true
	case `\color`, `\textcolor`, `\colorbox`, `\fcolorbox`, `\definecolor`:
		return "leave it out: a sheet is read in black on white as well, so that nothing may depend on a colour", true
	case `\label`, `\ref`, `\eqref`, `\tag`:
		return "refer to an entry by what it defines: [entry](#eta_th)", true
	}
	return "", false
}

// inspect finds what is refused before the engine sees it.
func inspect(source string) *fault {
	if len(source) > MaxFormula {
		return &fault{code: CodeLimit, at: -1, message: fmt.Sprintf("a formula is longer than %d bytes", MaxFormula),
			label: "too long", hint: "break it into formulas of a line each; " + escapeHint}
	}
	depth := 0
	for i := 0; i < len(source); {
		c := source[i]
		n := 1
		switch {
		case c == '{' || c == '[' || c == '(':
			depth++
		case c == '}' || c == ']' || c == ')':
			depth = max(0, depth-1)
		case c == '%':
			return &fault{code: CodeTeX, message: "in TeX a % begins a remark, and the rest of the formula would be lost", at: i, size: 1,
				label: "a percent sign", hint: `write \%`}
		case c == '\\':
			n = tokenAt(source[i:])
			command := source[i : i+n]
			if why, ok := refused(command); ok {
				return &fault{code: CodeTeX, message: fmt.Sprintf("`%s` is not part of a formula on a sheet", command),
					at: i, size: n, label: "not typeset", hint: why}
			}
			if command == `\left` || command == `\begin` {
				depth++
				if name, ok := numbered(source[i+n:]); ok {
					return &fault{code: CodeTeX, message: "`" + name + "` numbers its lines, and formulas of the text have no numbers",
						at: i, size: n, label: "not typeset", hint: `write \begin{aligned} or \begin{gathered}`}
				}
			} else if command == `\right` || command == `\end` {
				depth = max(0, depth-1)
			}
		case c < ' ' && c != '\n' && c != '\t' && c != '\r':
			return &fault{code: CodeTeX, message: "this formula holds a control character", at: i, size: 1,
				label: "cannot be seen", hint: "delete it"}
		}
		if depth > MaxDepth {
			return &fault{code: CodeLimit, at: i, size: n, message: fmt.Sprintf("a formula is nested more than %d deep", MaxDepth),
				label: "one too many", hint: "give an inner part a symbol of its own"}
		}
		i += n
	}
	return nil
}

// numbered reports an environment whose lines would get numbers, at the name after \begin.
func numbered(rest string) (string, bool) {
	name, _, _ := strings.Cut(strings.TrimPrefix(strings.TrimSpace(rest), "{"), "}")
	return name, slices.Contains([]string{"equation", "align", "alignat", "gather", "multline"}, name)
}

// tokenAt is the length of the token at the start of some TeX.
func tokenAt(s string) int {
	if s == "" {
		return 0
	}
	if s[0] != '\\' || len(s) == 1 {
		_, n := utf8.DecodeRuneInString(s)
		return n
	}
	n := 1
	for n < len(s) && (s[n]|0x20 >= 'a' && s[n]|0x20 <= 'z' || s[n] == '@') {
		n++
	}
	if n == 1 {
		_, size := utf8.DecodeRuneInString(s[1:])
		n += size
	}
	return n
}

// hintFor says what to do about what temml says.
func hintFor(words, source string, at int) string {
	switch {
	case strings.HasPrefix(words, "Unsupported function name") || strings.HasPrefix(words, "Undefined control sequence"):
		if at >= 0 && at < len(source) {
			name := source[at : at+tokenAt(source[at:])]
			alike := slices.DeleteFunc(commands(), func(c string) bool { return len(name) < 2 || c[1] != name[1] })
			if near := diag.Near(name, alike); len(near) > 0 {
				return "did you mean " + strings.Join(near[:min(len(near), 2)], " or ") + "?"
			}
		}
		return `words in a formula are written \text{…}; ` + escapeHint
	case strings.Contains(words, "expected '}'") || strings.Contains(words, "Expected '}'"):
		return "close the brace; " + escapeHint
	case strings.HasPrefix(words, "Double superscript"), strings.HasPrefix(words, "Double subscript"):
		return "put braces around what belongs together, as in {a^b}^c or a^{bc}"
	}
	return "the guide shows the TeX that sheets use; " + escapeHint
}

// commands are those that thermodynamics writes with, for near misses.
func commands() []string {
	return strings.Fields(`\frac \dfrac \tfrac \sqrt \dot \ddot \bar \hat \tilde \vec \overline \underline \overbrace \underbrace
\left \right \begin \end \text \mathrm \mathbf \mathit \mathcal \operatorname \cdot \times \div \pm \mp \le \leq \ge \geq \ne \neq
\approx \equiv \sim \simeq \propto \ll \gg \to \rightarrow \Rightarrow \infty \partial \nabla \int \oint \iint \sum \prod \lim \ln
\log \exp \sin \cos \tan \min \max \quad \qquad \circ \prime \degree \alpha \beta \gamma \delta \epsilon \varepsilon \zeta \eta \theta \vartheta
\iota \kappa \lambda \mu \nu \xi \pi \rho \varrho \sigma \tau \upsilon \phi \varphi \chi \psi \omega \Gamma \Delta \Theta \Lambda
\Xi \Pi \Sigma \Upsilon \Phi \Psi \Omega \big \Big \bigg \Bigg \ldots \cdots \mid \langle \rangle \binom`)
}
