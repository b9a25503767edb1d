package lang

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"workings/runner/diag"
)

// fences cuts a Markdown text into a file and its fences, as package notebook does for fences that
// stand in no list or quote.
func fences(name, text string) (*diag.File, []Source) {
	file := diag.NewFile(name, []byte(text))
	var out []Source
	open := false
	for n := 1; n <= file.Lines(); n++ {
		at := file.LineSpan(n)
		line := at.In(file)
		switch {
		case !open && strings.HasPrefix(line, "```"):
			word, info, _ := strings.Cut(line[3:], " ")
			s := Source{Kind: word, Info: info, Span: at, InfoSpan: diag.Span{Start: at.End - len(info), End: at.End}}
			out = append(out, s)
			open = true
		case open && strings.HasPrefix(line, "```"):
			out[len(out)-1].Span.End = at.End
			open = false
		case open:
			s := &out[len(out)-1]
			s.Lines = append(s.Lines, Line{line, at.Start})
			s.Span.End = at.End
		}
	}
	return file, out
}

// fence makes one fence of some lines, whatever they hold.
func fence(kind, body string) (*diag.File, Source) {
	word, info, _ := strings.Cut(kind, " ")
	open := "```" + kind + "\n"
	file := diag.NewFile("test.md", []byte(open+body+"\n```\n"))
	src := Source{Kind: word, Info: info, Span: diag.Span{End: len(file.Text) - 1}}
	src.InfoSpan = diag.Span{Start: len(open) - 1 - len(info), End: len(open) - 1}
	at := len(open)
	for l := range strings.SplitSeq(body, "\n") {
		src.Lines = append(src.Lines, Line{l, at})
		at += len(l) + 1
	}
	return file, src
}

// golden compares a text with a file, or writes it where UPDATE_GOLDEN is set.
func golden(t *testing.T, path, got string) {
	t.Helper()
	if os.Getenv("UPDATE_GOLDEN") != "" {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs (UPDATE_GOLDEN=1 rewrites it):\n%s", path, difference(string(want), got))
	}
}

func difference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	var b strings.Builder
	for i := 0; i < max(len(w), len(g)); i++ {
		var a, c string
		if i < len(w) {
			a = w[i]
		}
		if i < len(g) {
			c = g[i]
		}
		if a != c {
			fmt.Fprintf(&b, "line %d\n  want %s\n  got  %s\n", i+1, a, c)
		}
	}
	return b.String()
}

func files(t *testing.T, pattern string) []string {
	t.Helper()
	found, err := filepath.Glob(pattern)
	if err != nil || len(found) == 0 {
		t.Fatalf("no test files at %s", pattern)
	}
	return found
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := readFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func readFile(path string) (string, error) {
	b, err := os.ReadFile(path)
	return string(b), err
}

// tree is a readable form of the tree without places: one statement a line, its parts in brackets.
func tree(n any) string {
	var b strings.Builder
	dump(&b, reflect.ValueOf(n), "")
	return b.String()
}

func dump(b *strings.Builder, v reflect.Value, indent string) {
	switch v.Kind() {
	case reflect.Interface, reflect.Pointer:
		if v.IsNil() {
			b.WriteString("-")
			return
		}
		dump(b, v.Elem(), indent)
	case reflect.Slice:
		if v.Type().Elem() == reflect.TypeFor[Stmt]() {
			for i := range v.Len() {
				b.WriteString("\n" + indent + "  ")
				dump(b, v.Index(i), indent+"  ")
			}
			return
		}
		b.WriteString("[")
		for i := range v.Len() {
			if i > 0 {
				b.WriteString(" ")
			}
			dump(b, v.Index(i), indent)
		}
		b.WriteString("]")
	case reflect.Struct:
		switch x := v.Interface().(type) {
		case Name:
			b.WriteString(x.Text)
			return
		case UnitText:
			fmt.Fprintf(b, "<%s>", x.Text)
			return
		case Caption:
			fmt.Fprintf(b, "%q", x.Text)
			return
		case Number:
			b.WriteString(x.Text)
			if x.Unit != nil {
				fmt.Fprintf(b, "<%s>", x.Unit.Text)
			}
			return
		case Ident:
			if x.Of != nil {
				b.WriteString(x.Of.Text + ".")
			}
			b.WriteString(x.Name.Text)
			return
		case Binary: // a long sum leans to the left; no recursion that way in what is printed
			fmt.Fprintf(b, "(%s ", x.Op)
			dump(b, reflect.ValueOf(x.X), indent)
			b.WriteString(" ")
			dump(b, reflect.ValueOf(x.Y), indent)
			b.WriteString(")")
			return
		}
		b.WriteString("(" + v.Type().Name())
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if f.Type == reflect.TypeFor[At]() || f.Type == reflect.TypeFor[diag.Span]() || f.Type == reflect.TypeFor[[]diag.Span]() || v.Field(i).IsZero() {
				continue
			}
			if f.Type == reflect.TypeFor[Caption]() && v.Field(i).Interface().(Caption).Text == "" {
				continue
			}
			if f.Type == reflect.TypeFor[UnitText]() && v.Field(i).Interface().(UnitText).Text == "" {
				continue
			}
			b.WriteString(" ")
			if !f.Anonymous {
				b.WriteString(f.Name + "=")
			}
			dump(b, v.Field(i), indent)
		}
		b.WriteString(")")
	case reflect.String:
		fmt.Fprintf(b, "%q", v.String())
	default:
		fmt.Fprint(b, v.Interface())
	}
}
