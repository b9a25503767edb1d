package chart

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// drawing is a picture read back from its SVG, by this test's own reading of it.
type drawing struct {
	w, h        float64
	ids         []string
	title, desc string
	texts       []words
	rings       []box
	curves      map[string][][]pt // by class
}

type words struct {
	box
	s string
}

type failer interface {
	Helper()
	Errorf(string, ...any)
	Fatalf(string, ...any)
}

// read checks that a picture is well-formed XML and takes it apart.
func read(t failer, name, s string) *drawing {
	t.Helper()
	d := &drawing{curves: map[string][][]pt{}}
	dec := xml.NewDecoder(strings.NewReader(s))
	var at pt
	var class, text string
	var inText, inTitle, inDesc, index bool
	wide := 0.0
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%s: %q is no number", name, s)
		}
		return v
	}
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s: not well-formed: %v", name, err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			a := map[string]string{}
			for _, x := range e.Attr {
				a[x.Name.Local] = x.Value
				if strings.HasPrefix(x.Name.Local, "on") || x.Name.Local == "style" || x.Name.Local == "href" {
					t.Errorf("%s: attribute %s", name, x.Name.Local)
				}
			}
			if a["id"] != "" {
				d.ids = append(d.ids, a["id"])
			}
			switch e.Name.Local {
			case "svg":
				f := strings.Fields(a["viewBox"])
				d.w, d.h = number(f[2]), number(f[3])
				if a["role"] != "img" || a["aria-labelledby"] == "" || a["aria-describedby"] == "" {
					t.Errorf("%s: the picture has no role, name or description", name)
				}
			case "title":
				inTitle = true
			case "desc":
				inDesc = true
			case "text":
				inText, at, class, text, wide = true, pt{number(a["x"]), number(a["y"])}, a["class"], "", 0
			case "tspan":
				index = a["class"] == "sb"
			case "rect":
				x, y := number(a["x"]), number(a["y"])
				d.rings = append(d.rings, box{x, y, x + number(a["width"]), y + number(a["height"])})
			case "circle":
				number(a["cx"])
				number(a["cy"])
			case "path":
				d.curves[a["class"]] = append(d.curves[a["class"]], pathOf(t, name, a["d"])...)
			default:
				t.Errorf("%s: unknown element %s", name, e.Name.Local)
			}
		case xml.CharData:
			switch s := string(e); {
			case inTitle:
				d.title += s
			case inDesc:
				d.desc += s
			case inText:
				size := textSize
				if index {
					size = subSize
				} else if strings.Contains(" "+class+" ", " rn ") {
					size = ringSize
				}
				text += s
				wide += width(strings.ReplaceAll(s, "\u200b", ""), size)
			default:
				if strings.TrimSpace(s) != "" {
					t.Errorf("%s: text %q outside of everything", name, s)
				}
			}
		case xml.EndElement:
			switch e.Name.Local {
			case "title":
				inTitle = false
			case "desc":
				inDesc = false
			case "tspan":
				index = false
			case "text":
				inText = false
				x := at.x
				switch {
				case strings.HasPrefix(class+" ", "m "):
					x -= wide / 2
				case strings.HasPrefix(class+" ", "e "):
					x -= wide
				}
				// Capitals and figures of Liberation Sans are 0.73 of its size high.
				d.texts = append(d.texts, words{box{x, at.y - 0.73*textSize, x + wide, at.y + 0.2*textSize}, text})
			}
		}
	}
	if d.title == "" || d.desc == "" {
		t.Errorf("%s: no title or no description", name)
	}
	return d
}

// pathOf reads the commands that pictures use: M, l and z.
func pathOf(t failer, name, d string) [][]pt {
	t.Helper()
	var out [][]pt
	for _, part := range strings.Split(d, "M")[1:] {
		closed := strings.HasSuffix(part, "z")
		move, rest, ok := strings.Cut(strings.TrimSuffix(part, "z"), "l")
		if !ok {
			t.Fatalf("%s: path %q", name, d)
		}
		n := func(s string) []float64 {
			var out []float64
			for _, f := range strings.Fields(strings.ReplaceAll(s, "-", " -")) {
				v, err := strconv.ParseFloat(f, 64)
				if err != nil {
					t.Fatalf("%s: path %q: %v", name, d, err)
				}
				out = append(out, v)
			}
			return out
		}
		m, r := n(move), n(rest)
		if len(m) != 2 || len(r)%2 != 0 {
			t.Fatalf("%s: path %q", name, d)
		}
		line := []pt{{m[0], m[1]}}
		for i := 0; i < len(r); i += 2 {
			last := line[len(line)-1]
			line = append(line, pt{last.x + r[i], last.y + r[i+1]})
		}
		if closed {
			line = append(line, line[0])
		}
		out = append(out, line)
	}
	return out
}

// check asserts what holds for every picture: nothing leaves it, and no label touches another.
func (d *drawing) check(t failer, name string) {
	t.Helper()
	whole := box{0, 0, d.w, d.h}
	for i, a := range d.texts {
		if !a.inside(whole) {
			t.Errorf("%s: %q leaves the picture: %v", name, a.s, a.box)
		}
		for _, b := range d.texts[:i] {
			if a.overlaps(b.box) {
				t.Errorf("%s: %q and %q collide", name, a.s, b.s)
			}
		}
		for _, r := range d.rings {
			if a.overlaps(r) && !a.inside(r) {
				t.Errorf("%s: %q touches a ring", name, a.s)
			}
		}
	}
	for i, a := range d.rings {
		if !a.inside(whole) {
			t.Errorf("%s: a ring leaves the picture", name)
		}
		for _, b := range d.rings[:i] {
			if a.overlaps(b) {
				t.Errorf("%s: two rings collide", name)
			}
		}
	}
	for class, lines := range d.curves {
		for _, l := range lines {
			for _, p := range l {
				if !inside(p, whole) {
					t.Errorf("%s: a line of class %q leaves the picture at %v", name, class, p)
				}
			}
		}
	}
}

// clear asserts that no curve of the figure passes through a label.
func (d *drawing) clear(t failer, name string) {
	t.Helper()
	for class, lines := range d.curves {
		if slices.Contains([]string{"gr", "tie", "iso", "bar"}, class) {
			continue
		}
		for _, l := range lines {
			for i := 1; i < len(l); i++ {
				for _, b := range d.texts {
					if _, _, ok := b.cut(l[i-1], l[i]); ok {
						t.Errorf("%s: a line of class %q passes through %q", name, class, b.s)
					}
				}
			}
		}
	}
}

func TestDemos(t *testing.T) {
	pictures, again := demos(t), demos(t)
	const most = 15 << 10
	for name, s := range pictures {
		d := read(t, name, s)
		d.check(t, name)
		if name != "study-crowd" && name != "ts-both" { // where curves lie on curves no label is free of all
			d.clear(t, name)
		}
		if len(s) > most {
			t.Errorf("%s: %d bytes", name, len(s))
		}
		if s != again[name] {
			t.Errorf("%s: two drawings differ", name)
		}
		for _, id := range d.ids {
			if !strings.HasPrefix(id, name+"-") {
				t.Errorf("%s: id %q", name, id)
			}
		}
		if strings.Contains(s, "NaN") || strings.Contains(s, "Inf") || strings.Contains(s, ">-") {
			t.Errorf("%s: a number that is none, or an ASCII minus", name)
		}
	}
}

// Every state is named in the picture and in the description, with its figures.
func TestStatesAreNamed(t *testing.T) {
	d := diagrams(t)["ts-gas"]
	pic := read(t, "ts-gas", string(d.SVG("x")))
	for _, l := range d.Paths[0].Legs {
		for _, s := range []State{l.From, l.To} {
			if !slices.ContainsFunc(pic.texts, func(w words) bool { return w.s == s.ID }) {
				t.Errorf("state %s has no ring", s.ID)
			}
			if want := "state " + s.ID + " at " + number(s.At.X, 5); !strings.Contains(pic.desc, want) {
				t.Errorf("the description lacks %q", want)
			}
		}
	}
	if len(pic.rings) != 10 {
		t.Errorf("%d rings for ten states", len(pic.rings))
	}
}

// Heavy where heat enters, dashed where only the ends are known.
func TestStrokes(t *testing.T) {
	pic := read(t, "ts-gas", string(diagrams(t)["ts-gas"].SVG("x")))
	for class, want := range map[string]int{
		"c1 k1 hv": 3, // regenerator's cold side, combustor, reheater
		"c1 k1":    2, // intercooler, regenerator's hot side
		"c1 d1":    4, // four machines
	} {
		if got := len(pic.curves[class]); got != want {
			t.Errorf("%d lines of class %q, want %d", got, class, want)
		}
	}
	for _, class := range []string{"k2", "k3", "k4", "k5", "d1", "d2", "d3", "d4", "d5", "hv", "far"} {
		if !strings.Contains(Style, "."+class+"{") {
			t.Errorf("the style sheet does not know %s", class)
		}
	}
}

// A curve's end, its gap and its mark come out where they belong.
func TestGapsAndMarks(t *testing.T) {
	c := studies()["study-family"]
	pic := read(t, "family", string(c.SVG("x")))
	third := pic.curves["c3 k3"]
	if len(third) != 2 {
		t.Errorf("%d lines, want 2: the curve in the allowed range, and its sample in the legend", len(third))
	}
	if far := pic.curves["c3 far"]; len(far) != 3 {
		t.Errorf("%d pieces outside the allowed range, want 3: before, and both sides of the gap", len(far))
	}
	if !strings.Contains(pic.desc, "points without a value: 3") || !strings.Contains(pic.desc, "Marked: largest") {
		t.Errorf("description %q", pic.desc)
	}
	for _, m := range c.Marks {
		want := number(m.At.Y, 5) + "\u00a0% at " + number(m.At.X, 5)
		if !slices.ContainsFunc(pic.texts, func(w words) bool { return w.s == want }) {
			t.Errorf("no label %q", want)
		}
	}
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		log    bool
		want   string
	}{
		{-1, 1, false, "−1.0 −0.5 0 0.5 1.0"},
		{280, 1320, false, "400 600 800 1000 1200"},
		{0.2, 0.45, false, "0.20 0.25 0.30 0.35 0.40 0.45"},
		{0, 5e6, false, "0 1×10⁶ 2×10⁶ 3×10⁶ 4×10⁶ 5×10⁶"},
		{0, 5e-7, false, "0 1×10⁻⁷ 2×10⁻⁷ 3×10⁻⁷ 4×10⁻⁷ 5×10⁻⁷"},
		{3, 300, true, "5 10 20 50 100 200"},
		{0.5, 3e4, true, "1 10 100 1000 10000"},
		{1e-6, 1e6, true, "10⁻⁶ 10⁻⁵ 10⁻⁴ 0.001 0.01 0.1 1 10 100 1000 10000 10⁵ 10⁶"},
	} {
		var got []string
		for _, tick := range (ticker{c.log, 6}).Ticks(c.lo, c.hi) {
			if tick.Label != "" {
				got = append(got, tick.Label)
			}
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%g to %g: %s, want %s", c.lo, c.hi, s, c.want)
		}
	}
}

// The points that are left out lie within the tolerance of the line that is drawn.
func TestSimplifyLosesNothingVisible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 400).Draw(t, "n")
		bend := rapid.Float64Range(0, 3).Draw(t, "bend")
		line := make([]pt, n)
		for i := range line {
			f := float64(i) / float64(n)
			line[i] = pt{600 * f, 200 + 150*math.Sin(bend*6*f) + rapid.Float64Range(-0.5, 0.5).Draw(t, "noise")}
		}
		out := within(line, fine)
		for _, p := range line {
			best := math.Inf(1)
			for i := 1; i < len(out); i++ {
				best = min(best, distance(p, out[i-1], out[i]))
			}
			if best > 2*fine+1e-9 {
				t.Fatalf("a point lies %g beside the line of %d of %d points", best, len(out), n)
			}
		}
	})
}

func distance(p, a, b pt) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	f := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		f = min(1, max(0, ((p.x-a.x)*dx+(p.y-a.y)*dy)/l))
	}
	return math.Hypot(p.x-a.x-f*dx, p.y-a.y-f*dy)
}

// Whatever the states, no label touches another and none leaves the picture.
func TestRandomStates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 25).Draw(t, "n")
		value := rapid.OneOf(rapid.Float64Range(0.001, 1e5), rapid.Float64Range(300, 301), rapid.Just(300.0))
		d := &Diagram{Title: "t", X: axisX(rapid.Bool().Draw(t, "auto")), Y: axisX(false)}
		var last State
		p := Path{Name: "air"}
		for i := range n + 1 {
			s := State{strconv.Itoa(i * rapid.SampledFrom([]int{1, 11, 997}).Draw(t, "id")), Point{value.Draw(t, "x"), value.Draw(t, "y")}}
			if i > 0 {
				p.Legs = append(p.Legs, Leg{From: last, To: s, Heat: i%2 == 0})
			}
			last = s
		}
		d.Paths = []Path{p}
		read(t, "random", string(d.SVG("x"))).check(t, "random")
	})
}

func axisX(auto bool) Axis {
	a := Axis{Symbol: Name{"x", "1"}, Words: "what it is", Unit: "kJ/(kg·K)"}
	if auto {
		a.Scale = Auto
	}
	return a
}

// Hostile data of every kind leave a bounded, well-formed picture.
func TestHostile(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	odd := []float64{nan, inf, -inf, math.MaxFloat64, -math.MaxFloat64, 5e-324, 0, -1, 1e99, 1e-99, 1, 1e9 + 0.001, 1e9}
	text := "<script>&\"\u202e\x00\x1b[31m" + strings.Repeat("W", 500) + "\xff"
	var zigzag []Point
	var samples []Sample
	for i := range 10000 {
		zigzag = append(zigzag, Point{float64(i % 997), float64(i * 7919 % 1009)})
		samples = append(samples, Sample{X: float64(i), Y: float64(i * 7919 % 1009), Failed: i%7 == 0, Outside: i%3 == 0})
	}
	a := Axis{Symbol: Name{text, text}, Words: text, Unit: text, Scale: Auto}
	const most = 200 << 10
	show := func(name string, s []byte) {
		if len(s) > most {
			t.Errorf("%s: %d bytes", name, len(s))
		}
		for _, bad := range []string{"<script", "\u202e", "\x00", "\x1b", "NaN", "Inf"} {
			if strings.Contains(string(s), bad) {
				t.Errorf("%s holds %q", name, bad)
			}
		}
		read(t, name, string(s))
	}
	bar := func(name string, s []byte) { // which no reader is told of
		if err := xml.Unmarshal(s, new(struct{})); err != nil || len(s) > 1000 || strings.Contains(string(s), "NaN") || strings.Contains(string(s), "Inf") {
			t.Errorf("%s: %v\n%s", name, err, s)
		}
	}
	show("empty diagram", (&Diagram{Title: "t"}).SVG("x"))
	show("empty curves", (&Curves{Title: "t"}).SVG("x"))
	show("empty exchange", (&Exchange{Title: "t"}).SVG("x"))
	for _, u := range odd {
		for _, v := range odd {
			p, q := Point{u, v}, Point{v, u}
			name := fmt.Sprint(u, " ", v)
			leg := Leg{From: State{text, p}, To: State{text, q}}
			show(name, (&Diagram{Title: text, X: a, Y: a, Paths: []Path{{text, []Leg{leg, {From: leg.To, To: leg.From, Between: []Point{p, {1, 1}, q}}}}},
				Dome: &Dome{text, []Point{p, q}, p}, Lines: []Isoline{{u, text, []Point{p, q, {2, 2}}}}}).SVG("x"))
			show(name, (&Curves{Title: text, X: a, Y: a, Series: []Series{{Name: text, Points: []Sample{{X: u, Y: v}, {X: v, Y: u}}}, {Symbol: Name{text, text}}}, Marks: []Mark{{-5, p, text}}}).SVG("x"))
			show(name, (&Exchange{Title: text, X: a, T: a, Hot: Stream{Name: text, Points: []Point{p, q}, Left: text}, Gaps: []Gap{{text, u, v, u}}}).SVG("x"))
			bar(name, Bar(u, v, 1))
			bar(name, Bar(1, u, v))
		}
	}
	var many []Series
	var paths []Path
	for i := range 40 {
		many = append(many, Series{Name: strconv.Itoa(i), Points: samples})
		paths = append(paths, Path{strconv.Itoa(i), []Leg{{State{"1", zigzag[0]}, State{"2", zigzag[len(zigzag)-1]}, zigzag, true}}})
	}
	show("many points", (&Diagram{Title: "t", X: a, Y: a, Paths: paths}).SVG("x"))
	show("many series", (&Curves{Title: "t", X: a, Y: a, Series: many}).SVG("x"))
	path := Path{}
	for i := range 2000 {
		path.Legs = append(path.Legs, Leg{From: State{strconv.Itoa(i), zigzag[i]}, To: State{strconv.Itoa(i + 1), zigzag[i+1]}})
	}
	show("many states", (&Diagram{Title: "t", X: axisX(false), Y: axisX(false), Paths: []Path{path}}).SVG("x"))
}

func TestGolden(t *testing.T) {
	dir := filepath.Join("testdata", "golden")
	update := os.Getenv("UPDATE_GOLDEN") != ""
	pictures := demos(t)
	names := []string{"exchange-regenerator", "study-single", "ts-steam"}
	for _, name := range names {
		file := filepath.Join(dir, name+".svg")
		if update {
			if err := os.WriteFile(file, []byte(pictures[name]+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if string(want) != pictures[name]+"\n" {
			t.Errorf("%s has changed; UPDATE_GOLDEN=1 draws it anew", file)
		}
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if name := strings.TrimSuffix(f.Name(), ".svg"); !slices.Contains(names, name) {
			t.Errorf("no picture goes with %s", f.Name())
		}
	}
}

// preview is where TestPreview writes a page of all pictures for somebody to look at.
var preview = flag.String("preview", "", "write a page of all pictures to this file")

func TestPreview(t *testing.T) {
	page := "<!DOCTYPE html><meta charset=\"utf-8\"><title>Pictures</title><style>:root{color-scheme:light dark;" +
		"--paper:#fdfcf9;--ink:#1c1b19;--quiet:#5d5a53;--hair:#dedad0;--rule:#8c877c}@media (prefers-color-scheme:dark){:root{" +
		"--paper:#151617;--ink:#e8e5de;--quiet:#a9a59b;--hair:#33342f;--rule:#77746b}}body{background:var(--paper);color:var(--ink);" +
		"display:grid;grid-template-columns:1fr 1fr;gap:20px}" + Style + "</style>\n"
	pictures := demos(t)
	names := make([]string, 0, len(pictures))
	for name := range pictures {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		page += "<div>" + name + pictures[name] + "</div>\n"
	}
	if strings.Count(page, "<svg") != len(pictures) {
		t.Error("the page does not hold every picture once")
	}
	if *preview != "" {
		if err := os.WriteFile(*preview, []byte(page), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// A bar runs from the line at zero: to the right, or to the left where the value is below it.
func TestBar(t *testing.T) {
	at := func(v, lo, hi float64) (zero, from, to float64) {
		t.Helper()
		s := string(Bar(v, lo, hi))
		if _, err := fmt.Sscanf(s[strings.Index(s, `class="ax"`):], `class="ax" d="M%f 0`, &zero); err != nil {
			t.Fatal(err, s)
		}
		if i := strings.Index(s, `class="bar"`); i >= 0 {
			if _, err := fmt.Sscanf(s[i:], `class="bar" d="M%f 1l%f 0`, &from, &to); err != nil {
				t.Fatal(err, s)
			}
		}
		return zero, from, to
	}
	if zero, from, to := at(84, -21, 84); from != zero || math.Abs(to-88) > 0.1 || math.Abs(zero-23) > 0.1 {
		t.Errorf("of 84: zero at %g, from %g by %g", zero, from, to)
	}
	if zero, from, to := at(-21, -21, 84); from != zero || math.Abs(to+22) > 0.1 {
		t.Errorf("of −21: zero at %g, from %g by %g", zero, from, to)
	}
	if zero, from, to := at(0, 5, 84); from != 0 || to != 0 || zero != 1 {
		t.Errorf("of nothing: zero at %g, from %g by %g", zero, from, to)
	}
}
