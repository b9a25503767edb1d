package notebook

import (
	"bytes"
	"errors"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"

	"workings/runner/diag"
)

// yamlText is a text of YAML within a file, for finding what goccy/go-yaml has read there.
type yamlText struct {
	file   *diag.File
	base   int       // the line of the file in which the YAML begins
	whole  diag.Span // where a node has no place of its own
	refuse func(span diag.Span, message, label, hint string)
}

// span is the extent of a node's token as it is written.
func (y *yamlText) span(n ast.Node) diag.Span {
	tk := n.GetToken()
	if tk == nil || tk.Position == nil {
		return y.whole
	}
	line := y.file.LineSpan(y.base + tk.Position.Line - 1)
	start := line.Start
	for range tk.Position.Column - 1 {
		if start >= line.End {
			break
		}
		_, n := utf8.DecodeRune(y.file.Text[start:line.End])
		start += n
	}
	written, _, _ := strings.Cut(strings.TrimSpace(tk.Origin), "\n")
	if i := strings.Index(line.In(y.file), written); i >= 0 && !bytes.HasPrefix(y.file.Text[start:line.End], []byte(written)) {
		start = line.Start + i // goccy/go-yaml has miscounted
	}
	return diag.Span{Start: start, End: min(line.End, start+len(written))}
}

// fault is where an error of goccy/go-yaml points at.
func (y *yamlText) fault(err error, otherwise diag.Span) diag.Span {
	var e yaml.Error
	if !errors.As(err, &e) || e.GetToken() == nil {
		return otherwise
	}
	span := y.span(&ast.NullNode{Token: e.GetToken()})
	if span.Start == span.End {
		span = y.file.LineSpan(y.file.Line(span.Start))
	}
	return span
}

// key is the text of a mapping's key.
func (y *yamlText) key(v *ast.MappingValueNode) (string, diag.Span) {
	span := y.span(v.Key)
	if s, ok := v.Key.(*ast.StringNode); ok {
		return s.Value, span
	}
	return span.In(y.file), span
}

// text is a scalar as typed; false where it is empty, or no scalar, which is reported.
func (y *yamlText) text(key string, n ast.Node) (Entry, bool) {
	span := y.span(n)
	switch n := n.(type) {
	case *ast.StringNode:
		written := span.In(y.file)
		if len(written) == len(n.Value)+2 && written[1:len(written)-1] == n.Value {
			span = diag.Span{Start: span.Start + 1, End: span.End - 1}
		}
		return Entry{Text: n.Value, Span: span}, n.Value != ""
	case *ast.LiteralNode:
		text := strings.TrimRight(n.Value.Value, "\n")
		return Entry{Text: text, Span: span}, text != ""
	case *ast.NullNode:
		written := span.In(y.file) // an empty value has a token that is not in the file
		return Entry{Text: written, Span: span}, written != "" && n.GetToken().Value == written
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return Entry{Text: span.In(y.file), Span: span}, true
	case *ast.MappingNode, *ast.MappingValueNode, *ast.SequenceNode:
		y.refuse(span, quote(key)+" is a text", "found a list or keys of its own",
			"put the value in quotation marks where it is meant as text")
	default:
		y.refuse(span, quote(key)+" is a text", "anchors, aliases and tags are not read",
			"put the value in quotation marks where it is meant as text")
	}
	return Entry{}, false
}
