package chart

import (
	"bytes"
	"encoding/xml"
	"io"
	"regexp"
	"strings"
	"testing"
)

// plantOf reads a plant from the lines of a cycle fence, as the language has them.
func plantOf(t testing.TB, lines string) *Schematic {
	t.Helper()
	s := &Schematic{Title: "Plan of the plant"}
	form := regexp.MustCompile(`^(.*?) -> (.*?)  +(\w+)(.*?)(?:\s*// (.*))?$`)
	for _, line := range strings.Split(strings.TrimSpace(lines), "\n") {
		m := form.FindStringSubmatch(strings.TrimSpace(line))
		if m == nil {
			t.Fatalf("no component: %q", line)
		}
		part := Part{Kind: m[3], Caption: m[5], In: strings.Split(m[1], " + "), Out: strings.Split(m[2], " + ")}
		words := strings.Fields(m[4])
		if part.Kind == "regenerator" || part.Kind == "exchanger" {
			part.Exchanger = part.Kind
			if len(words) > 1 {
				part.Exchanger = words[0]
			}
			part.Hot = words[len(words)-1] == "hot"
		} else if len(words) == 2 {
			part.Shaft = words[1]
		}
		s.Parts = append(s.Parts, part)
	}
	return s
}

// plants are those of the demos and of verification notebooks, and others that crowd the plan.
func plants() map[string]string {
	return map[string]string{
		"plain": `
1 -> 2   compressor on A
2 -> 3   combustor
3 -> 4   turbine on A
4 -> 1   cooler   // the surroundings, which take up the exhaust
`,
		"reheated": `
0 -> 1   valve   // intake: throttled
1 -> 2   compressor on A
2 -> 3   cooler   // intercooler
3 -> 4   compressor on A
4 -> 5   regenerator cold
5 -> 6   combustor
6 -> 7   turbine on A
7 -> 8   combustor   // reheater
8 -> 9   turbine on A
9 -> 10   regenerator hot   // on to the stack
`,
		"combined": `
0 -> 1   valve   // intake: throttled
1 -> 2   compressor on gas
2 -> 3   combustor
3 -> 4   turbine on gas
4 -> 4a   exchanger superheater hot
4a -> 5   exchanger evaporator hot
5 -> 6   exchanger middle hot
6 -> 7   exchanger low hot
7 -> 8   exchanger economiser hot   // on to the stack
20 -> 21   pump
21 -> 22   exchanger economiser cold
22 -> 23   exchanger low cold   // the last degrees to saturation
23 -> 23a + 23b   splitter   // low-pressure drum
23a -> 24   exchanger low cold
24 -> 25   exchanger middle cold   // low-pressure superheater
23b -> 26   pump
26 -> 27   exchanger middle cold   // high-pressure economiser
27 -> 28   exchanger evaporator cold
28 -> 29   exchanger superheater cold
29 -> 30   turbine on steam
30 + 25 -> 31   mixer
31 -> 32   turbine on steam
32 -> 20   condenser
`,
		"regenerated": `
1 -> 2   compressor
2 -> x   regenerator cold
x -> 3   heater
3 -> 4   turbine
4 -> y   regenerator hot
y -> 1   cooler   // to the surroundings
`,
		"intercooled": `
1 -> 2   compressor
2 -> 3   cooler   // intercooler
3 -> 4   compressor
4 -> 5   regenerator cold
5 -> 6   combustor
6 -> 7   turbine
7 -> 8   heater   // reheater
8 -> 9   turbine
9 -> 10   regenerator hot
10 -> 1   cooler   // to the surroundings
`,
		"reheat": `
1 -> 2   compressor
2 -> x   regenerator cold
x -> 3   heater
3 -> a   turbine
a -> b   heater   // reheater
b -> 4   turbine
4 -> y   regenerator hot
y -> 1   cooler   // to the surroundings
`,
		"steam-reheat": `
1 -> 2   turbine
2 -> 3   heater   // reheater
3 -> 4   turbine
4 -> 5   condenser
5 -> 6   pump
6 -> 1   boiler
`,
		"feed-heating": `
5 -> 6   turbine
6 -> 6a + 6b   splitter
6b -> 7   turbine
7 -> 1   condenser
1 -> 2   pump
6a + 2 -> 3   mixer   // feed heater
3 -> 4   pump
4 -> 5   boiler
`,
		"air-over-steam": `
1 -> 2   compressor
2 -> 3   combustor
3 -> 4   turbine
4 -> 5   exchanger boiler hot
5 -> 1   cooler   // exhaust, to the surroundings
9 -> 6   pump
6 -> 7   exchanger boiler cold
7 -> 8   turbine
8 -> 9   condenser
`,
		"steam": `
1 -> 2   pump
2 -> 3   boiler
3 -> 4   turbine
4 -> 1   condenser
`,
		"two-feed-heaters": `
1 -> 2         pump
2 + 12 -> 3    mixer       // open feed heater
3 -> 4         pump
4 -> 5         exchanger closed cold
5 -> 6         boiler
6 -> 7         turbine on A   // high pressure
7 -> 7a + 7b   splitter
7a -> 8        boiler      // reheater
8 -> 9         turbine on A
9 -> 12 + 9b   splitter
9b -> 10       turbine on A
10 -> 1        condenser
7b -> 11       exchanger closed hot
11 -> 13       valve
`,
	}
}

// What is asked of a plan: by its geometry no line crosses, touches or covers another, no symbol,
// number or text hides anything, and all of it lies in the picture.
func TestSchematicsCollideNowhere(t *testing.T) {
	crossings := map[string]int{}
	for name, lines := range plants() {
		p := plantOf(t, lines).plan()
		d := p.layout()
		crossings[name] = len(collisions(d))
		for _, c := range collisions(d) {
			// The last of them is not drawn without crossings; it shall be readable at least.
			if name != "two-feed-heaters" || crossings[name] > 3 {
				t.Errorf("%s: %s", name, c)
			}
		}
		for i, l := range d.lines {
			for j := 1; j < len(l); j++ {
				if l[j].x != l[j-1].x && l[j].y != l[j-1].y {
					t.Errorf("%s: the line of %s is not orthogonal", name, d.links[i].state)
				}
			}
		}
	}
	if len(crossings) < 11 {
		t.Errorf("only %d plants were drawn", len(crossings))
	}
}

// The count of collisions finds those that are there.
func TestCollisionsAreFound(t *testing.T) {
	d := &laidOut{links: []link{{state: "1"}, {state: "2"}}, rings: make([]box, 2),
		lines: [][]pt{{{0, 0}, {100, 0}}, {{50, -50}, {50, 50}}}, area: box{-100, -100, 200, 200}}
	if got := len(collisions(d)); got != 1 {
		t.Errorf("%d collisions of two lines that cross, want 1", got)
	}
	d.lines[1] = []pt{{50, 0}, {80, 0}}
	if got := len(collisions(d)); got != 1 {
		t.Errorf("%d collisions of two lines of which one covers the other, want 1", got)
	}
	d.lines[1] = []pt{{50, 20}, {80, 20}}
	d.labels = []labelAt{{box: box{40, -5, 60, 10}, lines: []string{"text"}}}
	if got := len(collisions(d)); got != 1 {
		t.Errorf("%d collisions of a text on a line, want 1", got)
	}
}

// collisions are told in words.
func collisions(d *laidOut) []string {
	var out []string
	hit := func(a, b box) bool { return a.x1 < b.x2 && b.x1 < a.x2 && a.y1 < b.y2 && b.y1 < a.y2 }
	segment := func(a, b pt) box { return box{min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y)} }
	// Closed boxes, so that lines that only touch count as well.
	meet := func(a, b box) bool { return a.x1 <= b.x2 && b.x1 <= a.x2 && a.y1 <= b.y2 && b.y1 <= a.y2 }
	ends := func(i int) []int { return []int{d.links[i].from, d.links[i].to} }
	joined := func(i, j int) bool { // two streams that meet in the dot of a mixer or splitter
		for _, a := range ends(i) {
			for _, b := range ends(j) {
				if a == b && a < len(d.nodes) && d.nodes[a].w == 0 {
					return true
				}
			}
		}
		return false
	}
	for i := range d.lines {
		for j := range i {
			for a := 1; a < len(d.lines[i]); a++ {
				for b := 1; b < len(d.lines[j]); b++ {
					s, q := segment(d.lines[i][a-1], d.lines[i][a]), segment(d.lines[j][b-1], d.lines[j][b])
					point := box{max(s.x1, q.x1), max(s.y1, q.y1), min(s.x2, q.x2), min(s.y2, q.y2)}
					if meet(s, q) && !(joined(i, j) && point.x1 == point.x2 && point.y1 == point.y2) {
						out = append(out, "lines of "+d.links[i].state+" and "+d.links[j].state+" meet")
					}
				}
			}
		}
		for a := 1; a < len(d.lines[i]); a++ {
			s := segment(d.lines[i][a-1], d.lines[i][a])
			for n := range d.nodes {
				if b := d.nodes[n].box(); n != d.links[i].from && n != d.links[i].to && meet(s, b) {
					out = append(out, "the line of "+d.links[i].state+" runs through a "+d.nodes[n].kind)
				}
			}
			for _, t := range d.labels {
				if hit(s, t.box) {
					out = append(out, "the line of "+d.links[i].state+" runs through "+strings.Join(t.lines, " "))
				}
			}
			for j := range d.rings {
				if i != j && !d.links[j].shaft && hit(s, d.rings[j]) {
					out = append(out, "the line of "+d.links[i].state+" runs through the number "+d.links[j].state)
				}
			}
		}
	}
	type thing struct {
		name string
		box  box
	}
	var things []thing
	for i := range d.nodes {
		things = append(things, thing{d.nodes[i].kind, d.nodes[i].box()})
	}
	for i, r := range d.rings {
		if !d.links[i].shaft && r != (box{}) {
			things = append(things, thing{"number " + d.links[i].state, r})
		}
	}
	for _, t := range d.labels {
		things = append(things, thing{strings.Join(t.lines, " "), t.box})
	}
	for i, a := range things {
		for _, b := range things[:i] {
			if hit(a.box, b.box) {
				out = append(out, a.name+" hides "+b.name)
			}
		}
		if f := d.area; a.box.x1 < f.x1 || a.box.y1 < f.y1 || a.box.x2 > f.x2 || a.box.y2 > f.y2 {
			out = append(out, a.name+" lies outside the picture")
		}
	}
	return out
}

func TestSchematicMarkup(t *testing.T) {
	for name, lines := range plants() {
		s := plantOf(t, lines)
		got := s.SVG("a")
		if len(got) > 15_000 {
			t.Errorf("%s: %d bytes", name, len(got))
		}
		if !bytes.Equal(got, plantOf(t, lines).SVG("a")) {
			t.Errorf("%s: two drawings differ", name)
		}
		wellFormed(t, name, got)
		for _, part := range s.Parts {
			for _, id := range append(part.In, part.Out...) {
				if !bytes.Contains(got, []byte(">"+id+"</text>")) {
					t.Errorf("%s: state %s is not on the plan", name, id)
				}
			}
		}
	}
}

func wellFormed(t *testing.T, name string, svg []byte) {
	t.Helper()
	for dec := xml.NewDecoder(bytes.NewReader(svg)); ; {
		if _, err := dec.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
}

func TestSchematicDescription(t *testing.T) {
	got := string(plantOf(t, "0 -> 1   valve   // intake\n1 -> 2   compressor on A\n2 -> 3   regenerator cold\n3 -> 4   combustor\n4 -> 5   turbine on A\n5 -> 6   regenerator hot").SVG("a"))
	for _, want := range []string{"valve (intake) from 0 to 1", "compressor from 1 to 2, shaft A", "regenerator cold side from 2 to 3", "regenerator hot side from 5 to 6",
		"From the surroundings: 0.", "To the surroundings: 6.", `class="thick"`} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in %s", want, got)
		}
	}
}

// Whatever comes in, something comes out, well-formed and bounded.
func TestSchematicOfAnything(t *testing.T) {
	hostile := &Schematic{Title: "<&\"\x00", Parts: []Part{
		{Kind: "<b>", Caption: strings.Repeat("<script>&", 200), In: []string{"<", "<", "1"}, Out: []string{"&", "1"}},
		{Kind: "mixer", In: []string{"a", "b", "c", "d", "e", "f"}, Out: []string{"&"}},
		{Kind: "exchanger", Exchanger: "x", In: []string{"&"}, Out: []string{"&"}},
		{Kind: "turbine", Shaft: "A", Exchanger: ""},
		{Kind: "turbine", Shaft: "A", In: []string{"1"}, Out: []string{"1"}},
	}}
	if got := hostile.SVG("a"); bytes.Contains(got, []byte("<script")) || bytes.Contains(got, []byte("<b>")) {
		t.Error("text has become markup")
	} else {
		wellFormed(t, "hostile", got)
	}
	wellFormed(t, "empty", (&Schematic{}).SVG("a"))
	long := &Schematic{}
	kinds := []string{"compressor", "cooler", "turbine", "valve", "heater"}
	for i := range 600 {
		long.Parts = append(long.Parts, Part{Kind: kinds[i%len(kinds)], In: []string{number(float64(i), 6)}, Out: []string{number(float64(i+1), 6)}, Shaft: "A"})
	}
	got := long.SVG("a")
	wellFormed(t, "long", got)
	if len(got) > 600_000 {
		t.Errorf("%d bytes for 600 components", len(got))
	}
}
