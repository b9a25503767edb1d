package lang

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"workings/runner/diag"
)

// The files of testdata/errors hold fences with mistakes. A fence begins with a line `== kind info`; a line
// of it begins with `| `; the lines under it that begin with `# ` are the problems it must have, and no
// others, with a marker under the exact place. Everything else is for the reader.

func TestErrors(t *testing.T) {
	for _, path := range files(t, filepath.Join("testdata", "errors", "*.txt")) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			golden(t, path, withProblems(read(t, path)))
		})
	}
}

// withProblems is the text of an error file with the problems as they are found now.
func withProblems(text string) string {
	var out strings.Builder
	var kind string
	var lines []string
	flush := func() {
		if kind == "" {
			return
		}
		out.WriteString("== " + kind + "\n")
		body := unescape(strings.Join(lines, "\n"))
		file, src := fence(unescape(kind), body)
		_, problems := Parse(file, src)
		show(&out, file, problems, 1)
		for i, l := range lines {
			out.WriteString(strings.TrimRight("| "+l, " ") + "\n")
			show(&out, file, problems, i+2)
		}
		kind, lines = "", nil
	}
	for l := range strings.SplitSeq(strings.TrimSuffix(text, "\n"), "\n") {
		switch {
		case strings.HasPrefix(l, "== "):
			flush()
			kind = l[3:]
		case strings.HasPrefix(l, "|"):
			lines = append(lines, strings.TrimPrefix(strings.TrimPrefix(l, "|"), " "))
		case strings.HasPrefix(l, "#"):
		default:
			flush()
			out.WriteString(l + "\n")
		}
	}
	flush()
	return out.String()
}

// unescape turns \u{202E} into that character, so that a test file stays readable.
func unescape(s string) string {
	return regexp.MustCompile(`\\u\{[0-9A-F]+\}`).ReplaceAllStringFunc(s, func(m string) string {
		var r rune
		fmt.Sscanf(m, `\u{%X}`, &r)
		return string(r)
	})
}

func show(out *strings.Builder, file *diag.File, problems []*diag.Problem, line int) {
	for _, p := range problems {
		if p.Line() != line {
			continue
		}
		whole := file.LineSpan(line)
		before := utf8.RuneCount(file.Text[whole.Start:p.Span.Start])
		marked := utf8.RuneCount(file.Text[p.Span.Start:min(p.Span.End, whole.End)])
		if line == 1 {
			before = max(0, before-1) // the fence is written == instead of ```, and a blank
		}
		fmt.Fprintf(out, "# %s%s %s: %s\n", strings.Repeat(" ", before), strings.Repeat("^", max(1, marked)), p.Code, p.Message)
		if p.Severity != diag.Error {
			fmt.Fprintf(out, "#   %s\n", p.Severity)
		}
		if p.Label != "" {
			fmt.Fprintf(out, "#   - %s\n", p.Label)
		}
		if p.Hint != "" {
			fmt.Fprintf(out, "#   = %s\n", p.Hint)
		}
	}
}

// Every code has a fence that provokes it.
func TestErrorsCoverCodes(t *testing.T) {
	var all strings.Builder
	for _, path := range files(t, filepath.Join("testdata", "errors", "*.txt")) {
		all.WriteString(read(t, path))
	}
	source, err := os.ReadFile("codes.go")
	if err != nil {
		t.Fatal(err)
	}
	codes := regexp.MustCompile(`diag\.Code\("([a-z-]+)"\)`).FindAllStringSubmatch(string(source), -1)
	if len(codes) < 30 {
		t.Fatalf("found %d codes only", len(codes))
	}
	// A test file cannot show these without being as long as their limits: see TestLimits.
	byTest := map[string]bool{string(CodeNesting): true, string(CodeLength): true}
	for _, c := range codes {
		if !byTest[c[1]] && !strings.Contains(all.String(), "^ "+c[1]+": ") {
			t.Errorf("no file of testdata/errors provokes %s", c[1])
		}
	}
}

// A file of figures may begin with a byte order mark, which is no part of its first head.
func TestByteOrderMark(t *testing.T) {
	text := "\ufeffT/K, h/(kJ/kg)\n300, 300.19\n"
	file := diag.NewFile("air.csv", []byte(text))
	src := Source{Kind: "data", Info: "air", Span: diag.Span{End: len(text)}}
	for n := 1; n <= 2; n++ {
		at := file.LineSpan(n)
		src.Lines = append(src.Lines, Line{at.In(file), at.Start})
	}
	b, problems := Parse(file, src)
	if len(problems) > 0 {
		t.Fatalf("refused: %v", problems[0].Message)
	}
	d, ok := b.Stmts[0].(*Data)
	if !ok || len(d.Columns) != 2 || len(d.Rows) != 1 {
		t.Fatalf("read as %s", tree(b))
	}
	if at := d.Columns[0].Name.Loc; at.In(file) != "T" {
		t.Errorf("the first head is said to stand at %q", at.In(file))
	}
	// Anywhere else the mark is a character that cannot be seen.
	if _, problems := Parse(fence("data air", text)); len(problems) != 1 || problems[0].Code != CodeInvisible {
		t.Errorf("inside a notebook it gives %v", problems)
	}
}
