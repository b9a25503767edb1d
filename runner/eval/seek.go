package eval

import "math"

// maxSteps bounds the iterations of one solve.
const maxSteps = 200

// scanPoints is how finely a bracket is looked over before an extreme is refined.
const scanPoints = 64

// seeker looks for one unknown: where a function is zero, or largest, or smallest. It asks for the
// function at x, is told by next, and asks again, so that the lanes of a study can look each at its
// own pace while the function is evaluated for all of them at once.
type seeker struct {
	x      float64 // the trial asked for; at the end the place found
	stage  stage
	ending ending
	steps  int // iterations

	lo, hi float64
	sign   float64 // −1 looks for the smallest
	// Of a root: the newest point and the two before it, and where between a and b to look next.
	// Of an extreme: a and b close in on it, with c and d between them.
	a, b, c, d     float64
	fa, fb, fc, fd float64
	t              float64
	ends           float64 // the larger of the two values at the ends of the bracket
	best           float64 // of the points scanned, that of number at
	at, n          int
	width          float64
	y              [3]float64
}

// stage is what the trial that was asked for is to settle.
type stage uint8

const (
	atEnd    stage = iota // done
	firstEnd              // of the bracket of a root
	secondEnd
	closing // between a and b
	meeting // whether the two sides meet at a place found
	scanning
	golden1 // the first of two points between a and b
	golden2
	goldenLow // the new point on the left
	goldenHigh
	parabola
)

// ending is how a search ended.
type ending uint8

const (
	found   ending = iota
	flat           // both ends satisfy it
	sameEnd        // no change of sign between lo and hi
	jumps          // the two sides jump past each other
	edge           // the extreme is at an end of the bracket
	lost           // a trial had no value
)

// root begins to look for a zero between lo and hi.
func (s *seeker) root(lo, hi float64) {
	*s = seeker{lo: lo, hi: hi, a: hi, b: lo, x: hi, stage: firstEnd}
}

// extreme begins to look for the largest or smallest value between lo and hi.
func (s *seeker) extreme(lo, hi float64, which string) {
	*s = seeker{lo: lo, hi: hi, sign: 1, best: math.Inf(-1), x: lo, stage: scanning}
	if which == "smallest" {
		s.sign = -1
	}
}

func (s *seeker) searching() bool { return s.stage != atEnd }

func (s *seeker) end(x float64, how ending) { s.x, s.stage, s.ending = x, atEnd, how }

// ask asks for the function at x.
func (s *seeker) ask(x float64, why stage) { s.x, s.stage = x, why }

// next takes the value at x; size is the larger of the two sides whose difference it is.
func (s *seeker) next(f, size float64) {
	switch s.stage {
	case firstEnd:
		s.fa = f
		s.ask(s.b, secondEnd)
	case secondEnd:
		s.fb = f
		s.beginRoot()
	case closing:
		s.closeIn(f)
	case meeting:
		if min(math.Abs(s.fa), math.Abs(s.fb)) <= 1e-12*size {
			s.end(s.x, found)
		} else {
			s.end(s.x, jumps)
		}
	case scanning:
		s.scanned(s.sign * f)
	case golden1:
		s.fc = s.sign * f
		s.ask(s.d, golden2)
	case goldenLow:
		s.fc = s.sign * f
		s.narrow()
	case golden2, goldenHigh:
		s.fd = s.sign * f
		s.narrow()
	case parabola:
		s.fit(s.sign * f)
	}
}

func (s *seeker) beginRoot() {
	switch {
	case s.fa == 0 && s.fb == 0:
		s.end(s.a, flat)
	case s.fa == 0:
		s.end(s.a, found)
	case s.fb == 0:
		s.end(s.b, found)
	case (s.fa > 0) == (s.fb > 0):
		s.end(s.a, sameEnd)
	default:
		s.ends = math.Max(math.Abs(s.fa), math.Abs(s.fb))
		s.t, s.steps = 0.5, 1
		s.ask(s.a+s.t*(s.b-s.a), closing)
	}
}

// closeIn is a step of Chandrupatla's bracketing method: inverse quadratic interpolation where it
// is safe, bisection elsewhere (T. R. Chandrupatla, Adv. Eng. Softw. 28 (1997) 145; from memory).
func (s *seeker) closeIn(fx float64) {
	if (fx > 0) == (s.fa > 0) {
		s.c, s.fc = s.a, s.fa
	} else {
		s.c, s.fc = s.b, s.fb
		s.b, s.fb = s.a, s.fa
	}
	s.a, s.fa = s.x, fx
	best := s.a
	if math.Abs(s.fb) < math.Abs(s.fa) {
		best = s.b
	}
	tol := 2*0x1p-53*math.Abs(best) + 1e-300
	tl := tol / math.Abs(s.b-s.c)
	switch {
	case s.fa == 0:
		s.end(s.a, found)
		return
	case tl > 0.5 && min(math.Abs(s.fa), math.Abs(s.fb)) <= 1e-6*s.ends:
		s.end(best, found)
		return
	case tl > 0.5:
		// What is left of the difference has not shrunk with the bracket: a pole, or a step?
		s.ask(best, meeting)
		return
	case s.steps == maxSteps:
		s.end(s.a, found)
		return
	}
	xi, phi := (s.a-s.b)/(s.c-s.b), (s.fa-s.fb)/(s.fc-s.fb)
	if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
		s.t = s.fa/(s.fb-s.fa)*s.fc/(s.fb-s.fc) + (s.c-s.a)/(s.b-s.a)*s.fa/(s.fc-s.fa)*s.fb/(s.fc-s.fb)
	} else {
		s.t = 0.5
	}
	s.t = math.Min(1-tl, math.Max(tl, s.t))
	s.steps++
	s.ask(s.a+s.t*(s.b-s.a), closing)
}

// point is one of those that divide the bracket into equal pieces.
func (s *seeker) point(i int) float64 {
	if i == scanPoints {
		return s.hi // exactly, whatever the division leaves
	}
	return s.lo + (s.hi-s.lo)*float64(i)/scanPoints
}

func (s *seeker) scanned(f float64) {
	if f > s.best {
		s.best, s.at = f, s.n
	}
	if s.n++; s.n <= scanPoints {
		s.ask(s.point(s.n), scanning)
		return
	}
	if s.at == 0 || s.at == scanPoints {
		s.end(s.point(s.at), edge)
		return
	}
	s.a, s.b = s.point(s.at-1), s.point(s.at+1)
	s.c, s.d = s.b-ratio*(s.b-s.a), s.a+ratio*(s.b-s.a)
	s.ask(s.c, golden1)
}

// ratio of the golden section.
var ratio = (math.Sqrt(5) - 1) / 2

// narrow closes in on a largest value by the golden section. Near an extreme a function is flat:
// its place is sharp to about the square root of its own precision, and a parabola through three
// points takes out what is left of the first order.
func (s *seeker) narrow() {
	switch {
	case !(s.b-s.a > 1e-4*math.Max(math.Abs(s.a), math.Abs(s.b)) && s.steps < maxSteps):
		s.x, s.width, s.at = (s.a+s.b)/2, s.b-s.a, 0
		s.beginParabola(s.x)
	case s.fc > s.fd:
		s.steps++
		s.b, s.d, s.fd = s.d, s.c, s.fc
		s.c = s.b - ratio*(s.b-s.a)
		s.ask(s.c, goldenLow)
	default:
		s.steps++
		s.a, s.c, s.fc = s.c, s.d, s.fd
		s.d = s.a + ratio*(s.b-s.a)
		s.ask(s.d, goldenHigh)
	}
}

// beginParabola asks for three points about the middle; twice in all.
func (s *seeker) beginParabola(middle float64) {
	s.steps++
	s.t, s.n = middle, 0
	s.ask(middle-s.width, parabola)
}

func (s *seeker) fit(f float64) {
	s.y[s.n] = f
	if s.n++; s.n < 3 {
		s.ask(s.t+float64(s.n-1)*s.width, parabola)
		return
	}
	curve := s.y[0] - 2*s.y[1] + s.y[2]
	if curve >= 0 {
		s.end(s.t, found)
		return
	}
	x := s.t + math.Max(-1, math.Min(1, 0.5*(s.y[0]-s.y[2])/curve))*s.width
	s.width /= 2
	if s.at++; s.at == 2 {
		s.end(x, found)
		return
	}
	s.beginParabola(x)
}
