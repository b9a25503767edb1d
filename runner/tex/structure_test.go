package tex

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"
)

// structure writes MathML as mfrac(mi:a mi:b), attributes left out, and mpadded and mstyle with
// them.
func structure(t *testing.T, markup string) string {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(markup))
	var b strings.Builder
	first, text := true, ""
	gap := func() {
		if !first {
			b.WriteByte(' ')
		}
		first = false
	}
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return b.String()
		}
		if err != nil {
			t.Fatal(err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			switch name := tok.Name.Local; {
			case name == "math" || name == "mpadded" || name == "mstyle":
			case token(name):
				text = ""
			case name == "mspace":
				gap()
				b.WriteString(name)
			default:
				gap()
				b.WriteString(name + "(")
				first = true
			}
		case xml.CharData:
			text += string(tok)
		case xml.EndElement:
			switch name := tok.Name.Local; {
			case name == "math" || name == "mpadded" || name == "mstyle" || name == "mspace":
			case token(name):
				gap()
				b.WriteString(name + ":" + text)
			default:
				b.WriteByte(')')
				first = false
			}
		}
	}
}
