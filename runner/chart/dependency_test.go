package chart

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// package5 is a package as one finds it: a sheet of site data, machines on it, a report on them.
func package5() *Dependency {
	return &Dependency{
		Title: "Five sheets",
		Boxes: []SheetBox{
			{"HS-201", "revision B", "Site conditions for set GT-4", OpenSign, "1 to be confirmed", "site.html"},
			{"HS-202", "revision C", "Set GT-4, gas turbine at site conditions", TickSign, "all 2 checks hold", "turbine.html"},
			{"HS-203", "revision A", "Set GT-4, hot-water boiler in the exhaust", BadSign, "1 check fails", "boiler.html"},
			{"HS-204", "revision A", "Set GT-4, fuel and use of the heat", CautionSign, "rests on a failing sheet", "fuel.html"},
			{"HS-205", "revision A", "Set GT-4 at part load", TickSign, "the check holds", "part-load.html"},
		},
		Arrows: []Arrow{{0, 1, false}, {1, 2, false}, {1, 3, false}, {2, 3, false}, {1, 4, true}},
	}
}

// some makes a package of n sheets of which each uses earlier ones, as uses says.
func some(n int, uses func(i int) []int) *Dependency {
	d := &Dependency{Title: fmt.Sprintf("%d sheets", n)}
	for i := range n {
		d.Boxes = append(d.Boxes, SheetBox{Name: fmt.Sprintf("GT-%03d", i), Title: "A sheet of a package that has many", Sign: TickSign, Status: "all checks hold", Href: "x.html"})
		for _, j := range uses(i) {
			d.Arrows = append(d.Arrows, Arrow{From: j, To: i})
		}
	}
	return d
}

func star(i int) []int {
	if i == 0 {
		return nil
	}
	return []int{0}
}

func chain(i int) []int {
	if i == 0 {
		return nil
	}
	return []int{i - 1}
}

func tree(i int) []int {
	if i == 0 {
		return nil
	}
	return []int{(i - 1) / 3}
}

func lonely(int) []int { return nil }

// checkLayout holds a picture to what a reader expects of it: nothing covers anything, every arrow
// leaves its sheet on the downstream side and runs downstream all the way, past the other boxes.
func checkLayout(t interface{ Errorf(string, ...any) }, d *Dependency) *layers {
	l := d.layout()
	if l == nil {
		t.Errorf("not drawn")
		return nil
	}
	for i, a := range l.boxes {
		if a.x1 < 0 || a.y1 < 0 || a.x2 > l.width || a.y2 > l.height || a.x2-a.x1 < 100 {
			t.Errorf("box %d at %v is outside %v × %v", i, a, l.width, l.height)
		}
		for j, b := range l.boxes[:i] {
			if a.x1 < b.x2 && b.x1 < a.x2 && a.y1 < b.y2 && b.y1 < a.y2 {
				t.Errorf("boxes %d and %d overlap: %v %v", i, j, a, b)
			}
		}
	}
	down := true
	for _, a := range l.arrows {
		if l.boxes[a.from].y2 > l.boxes[a.to].y1 {
			down = false
		}
	}
	for _, a := range l.arrows {
		from, to := l.boxes[a.from], l.boxes[a.to]
		if !down && from.x2 > to.x1 {
			t.Errorf("arrow %d → %d runs neither down nor right: %v %v", a.from, a.to, from, to)
		}
		before := -1.0
		for _, p := range along(a) {
			u := p.x
			if down {
				u = p.y
			}
			if u < before-1e-9 {
				t.Errorf("arrow %d → %d turns back at %v", a.from, a.to, p)
				break
			}
			before = u
			if p.x < 0 || p.y < 0 || p.x > l.width || p.y > l.height {
				t.Errorf("arrow %d → %d leaves the picture at %v", a.from, a.to, p)
				break
			}
			for i, b := range l.boxes {
				if i != a.from && i != a.to && p.x > b.x1-4 && p.x < b.x2+4 && p.y > b.y1 && p.y < b.y2 {
					t.Errorf("arrow %d → %d touches box %d at %v", a.from, a.to, i, p)
				}
			}
		}
	}
	return l
}

// along are points of an arrow's curves, close to each other.
func along(a drawnArrow) []pt {
	out := []pt{a.at[0]}
	for i := 1; i+2 < len(a.at); i += 3 {
		p, q, r, s := a.at[i-1], a.at[i], a.at[i+1], a.at[i+2]
		const steps = 24
		for k := 1; k <= steps; k++ {
			t := float64(k) / steps
			mix := func(p, q, r, s float64) float64 {
				return (1-t)*(1-t)*(1-t)*p + 3*t*(1-t)*(1-t)*q + 3*t*t*(1-t)*r + t*t*t*s
			}
			out = append(out, pt{mix(p.x, q.x, r.x, s.x), mix(p.y, q.y, r.y, s.y)})
		}
	}
	return out
}

func TestDependencyLayouts(t *testing.T) {
	for _, c := range []struct {
		name    string
		d       *Dependency
		crosses int // at most
	}{
		{"five", package5(), 0}, {"one", some(1, lonely), 0}, {"two", some(2, chain), 0}, {"apart", some(7, lonely), 0},
		{"chain of 40", some(40, chain), 0}, {"star of 40", some(40, star), 0}, {"tree of 40", some(40, tree), 0},
		// Two sources that three sheets use: K(2,3) cannot be drawn in two layers without 3 crossings.
		{"two sources", some(5, func(i int) []int {
			if i < 2 {
				return nil
			}
			return []int{0, 1}
		}), 3},
		// A ladder is planar: each sheet uses the one before and the one before that.
		{"ladder", some(12, func(i int) []int {
			switch i {
			case 0:
				return nil
			case 1:
				return []int{0}
			}
			return []int{i - 1, i - 2}
		}), 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			checkLayout(t, c.d)
			p := &placing{d: c.d, turned: make([]bool, len(c.d.Arrows))}
			p.rank()
			p.fill()
			p.order()
			if n := p.crossings(); n > c.crosses {
				t.Errorf("%d crossings, want at most %d", n, c.crosses)
			}
		})
	}
}

// Any package of up to 40 sheets is laid out so, and twice the same.
func TestDependencyOfAnyShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "sheets")
		d := some(n, func(i int) []int {
			if i == 0 {
				return nil
			}
			return rapid.SliceOfNDistinct(rapid.IntRange(0, i-1), 0, min(3, i), rapid.ID[int]).Draw(t, "uses")
		})
		checkLayout(t, d)
		one, _ := d.SVG("D")
		if other, _ := d.SVG("D"); !bytes.Equal(one, other) {
			t.Errorf("two drawings differ")
		}
	})
}

// Sheets that use each other in a circle are an error of both, and are drawn nevertheless.
func TestDependencyInACircle(t *testing.T) {
	d := some(3, lonely)
	d.Arrows = []Arrow{{0, 1, false}, {1, 2, false}, {2, 0, false}, {1, 1, false}}
	l := d.layout()
	if l == nil || len(l.arrows) != 3 {
		t.Fatalf("layout %+v", l)
	}
}

func TestDependencyTooLarge(t *testing.T) {
	if svg, _ := some(MaxSheetBoxes+1, chain).SVG("D"); svg != nil {
		t.Error("a picture of too many sheets")
	}
	all := some(MaxSheetBoxes, func(i int) []int {
		var all []int
		for j := range i {
			all = append(all, j)
		}
		return all
	})
	if svg, _ := all.SVG("D"); svg != nil {
		t.Error("a picture of too many arrows")
	}
}

// What a front matter holds reaches the picture escaped and cut to its box.
func TestDependencyEscapes(t *testing.T) {
	d := &Dependency{Title: "<b>", Boxes: []SheetBox{{strings.Repeat("<script>", 50), "\x1b", `"><a>`, BadSign, "&", `"x`}}}
	svg, _ := d.SVG("D")
	s := string(svg)
	for _, bad := range []string{"<script", "<b>", "\x1b", `"x"`} {
		if strings.Contains(s, bad) {
			t.Errorf("%q in the picture", bad)
		}
	}
}
