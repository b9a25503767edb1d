package sheet

import (
	"math"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// encoder writes the trace as JSON. It gives the bytes that encoding/json would, but in one pass: a
// trace is mostly short strings and numbers, and checking each of them again at every level above
// took longer than all the rest of a page. What there are thousands of, the lines and symbols, is
// written member by member; everything else are records, structs of exported fields, strings, whole
// numbers, truth values, numbers, slices, arrays and pointers.
type encoder struct {
	b     []byte
	plans map[reflect.Type][]field
}

// field is a member of a record: its key as it is written, and where its value lies.
type field struct {
	key       string // with quotes and colon
	index     []int
	omitEmpty bool
}

func newEncoder(to []byte) *encoder {
	return &encoder{b: to, plans: map[reflect.Type][]field{}}
}

// open and shut are the brackets of an object or a list.
func (e *encoder) open(bracket byte) { e.b = append(e.b, bracket) }
func (e *encoder) shut(bracket byte) { e.b = append(e.b, bracket) }

// next separates what follows from what stands before it in the same brackets.
func (e *encoder) next() {
	if last := e.b[len(e.b)-1]; last != '{' && last != '[' {
		e.b = append(e.b, ',')
	}
}

// key begins a member.
func (e *encoder) key(name string) {
	e.next()
	e.b = append(append(append(e.b, '"'), name...), '"', ':')
}

func (e *encoder) textMember(name, s string) {
	e.key(name)
	e.text(s)
}

func (e *encoder) wholeMember(name string, n int) {
	e.key(name)
	e.b = strconv.AppendInt(e.b, int64(n), 10)
}

func (e *encoder) numberMember(name string, f float64) {
	e.key(name)
	e.number(f)
}

// twoNumbers are members with a number each, and between them, of one text, if it has a name. Often the
// numbers are one.
func (e *encoder) twoNumbers(first string, a float64, between, text, second string, b float64) {
	e.key(first)
	start := len(e.b)
	e.number(a)
	end := len(e.b)
	if between != "" {
		e.textMember(between, text)
	}
	e.key(second)
	if math.Float64bits(a) == math.Float64bits(b) {
		e.b = append(e.b, e.b[start:end]...)
		return
	}
	e.number(b)
}

func (e *encoder) textsMember(name string, texts []string) {
	e.key(name)
	e.open('[')
	for _, s := range texts {
		e.next()
		e.text(s)
	}
	e.shut(']')
}

func (e *encoder) recordMember(name string, v any) {
	e.key(name)
	e.record(v)
}

// record is a record or a list of them.
func (e *encoder) record(v any) { e.value(reflect.ValueOf(v)) }

// fields are the members of a record without its brackets.
func (e *encoder) fields(record any) { e.members(reflect.ValueOf(record)) }

// plan lists the members of a record, those of embedded records included.
func (e *encoder) plan(t reflect.Type) []field {
	if fs, ok := e.plans[t]; ok {
		return fs
	}
	var fs []field
	for _, f := range reflect.VisibleFields(t) {
		if f.Anonymous {
			continue
		}
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		fs = append(fs, field{`"` + name + `":`, f.Index, options == "omitempty"})
	}
	e.plans[t] = fs
	return fs
}

func (e *encoder) value(v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		e.text(v.String())
	case reflect.Float64:
		e.number(v.Float())
	case reflect.Int:
		e.b = strconv.AppendInt(e.b, v.Int(), 10)
	case reflect.Bool:
		e.b = strconv.AppendBool(e.b, v.Bool())
	case reflect.Struct:
		e.open('{')
		e.members(v)
		e.shut('}')
	case reflect.Slice, reflect.Array:
		if v.Kind() == reflect.Slice && v.IsNil() {
			e.b = append(e.b, "null"...)
			return
		}
		switch v.Type() {
		case reflect.TypeFor[members]():
			e.object(v.Interface().(members))
			return
		case reflect.TypeFor[encoded]():
			e.b = append(e.b, v.Bytes()...)
			return
		}
		e.b = append(e.b, '[')
		for i := range v.Len() {
			if i > 0 {
				e.b = append(e.b, ',')
			}
			e.value(v.Index(i))
		}
		e.b = append(e.b, ']')
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			e.b = append(e.b, "null"...)
			return
		}
		e.value(v.Elem())
	default:
		panic("sheet: the trace has no place for a " + v.Type().String()) // a fault of the build
	}
}

// members are those of a record.
func (e *encoder) members(v reflect.Value) {
	for _, f := range e.plan(v.Type()) {
		x := v.FieldByIndex(f.index)
		if f.omitEmpty && (x.IsZero() || x.Kind() == reflect.Slice && x.Len() == 0) {
			continue
		}
		e.next()
		e.b = append(e.b, f.key...)
		e.value(x)
	}
}

func (e *encoder) object(ms members) {
	e.b = append(e.b, '{')
	for i, m := range ms {
		if i > 0 {
			e.b = append(e.b, ',')
		}
		e.text(m.key)
		e.b = append(e.b, ':')
		e.value(reflect.ValueOf(m.value))
	}
	e.b = append(e.b, '}')
}

// number is a figure in full; what is no finite number is null.
func (e *encoder) number(f float64) {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		e.b = append(e.b, "null"...)
		return
	}
	e.b = strconv.AppendFloat(e.b, f, 'g', -1, 64)
}

// text is a string that may stand in a <script>: <, > and & are codes, and so is every character
// that a reader would not see.
func (e *encoder) text(s string) {
	e.b = append(append(e.b, '"'), s...)
	e.endText(len(e.b) - len(s))
}

// endText ends the string that was appended from start on, behind its quote. Few strings hold
// anything that has to be escaped.
func (e *encoder) endText(start int) {
	for i := start; i < len(e.b); {
		if c := e.b[i]; plainByte(c) && c != '\\' {
			i++
			continue
		}
		r, n := utf8.DecodeRune(e.b[i:])
		if !plainText(r) {
			rest := string(e.b[i:])
			e.b = e.b[:i]
			for _, r := range rest {
				if plainText(r) {
					e.b = utf8.AppendRune(e.b, r)
				} else {
					e.escaped(r)
				}
			}
			break
		}
		i += n
	}
	e.b = append(e.b, '"')
}

func plainText(r rune) bool {
	if r < utf8.RuneSelf {
		return plainByte(byte(r)) && r != '\\'
	}
	return r != '\u2028' && r != '\u2029' && !hidden(r)
}

func (e *encoder) escaped(r rune) {
	switch r {
	case '"', '\\':
		e.b = append(e.b, '\\', byte(r))
	case '\b':
		e.b = append(e.b, `\b`...)
	case '\f':
		e.b = append(e.b, `\f`...)
	case '\n':
		e.b = append(e.b, `\n`...)
	case '\r':
		e.b = append(e.b, `\r`...)
	case '\t':
		e.b = append(e.b, `\t`...)
	default:
		if r > 0xffff {
			high, low := utf16.EncodeRune(r)
			e.code(high)
			r = low
		}
		e.code(r)
	}
}

func (e *encoder) code(r rune) {
	const hex = "0123456789abcdef"
	e.b = append(e.b, '\\', 'u', hex[r>>12&15], hex[r>>8&15], hex[r>>4&15], hex[r&15])
}
