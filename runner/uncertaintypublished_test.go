package runner

import (
	"fmt"
	"math"
	"os"
	"testing"

	"workings/runner/study"
)

// verified evaluates a notebook of notebooks/verification and gives its answers.
func verified(t *testing.T, name string) map[string]*study.Budget {
	t.Helper()
	r, err := Build(os.DirFS("../notebooks"), "verification/"+name, options())
	if err != nil {
		t.Fatal(err)
	}
	if r.ExitCode() != ExitWell || r.Sensitivities == nil {
		t.Fatalf("%s: exit %d\n%s", name, r.ExitCode(), printed(t, r))
	}
	out := map[string]*study.Budget{}
	for _, b := range r.Sensitivities.Answers {
		out[b.Of.Symbol.Full()] = b
	}
	return out
}

// prints holds a value to the last digit of a published figure.
func prints(t *testing.T, what string, got, want, unit float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 0.5*unit*(1+1e-9)) {
		t.Errorf("%s = %.6g, published %g", what, got, want)
	}
}

// JCGM 100:2008 (GUM), H.1: an end gauge (figures from memory, the document was not opened).
func TestPublishedEndGauge(t *testing.T) {
	const nm = 1e-9
	l := verified(t, "v67-end-gauge-uncertainty.md")["l"]
	prints(t, "u(l) by first order, nm", l.First/nm, 32, 1)
	prints(t, "u(l) by second order, nm", l.Second.U/nm, 34, 1)
	for input, want := range map[string]struct{ part, unit float64 }{"l_s": {25, 1}, "d": {9.7, 0.1}, "dalpha": {2.9, 0.1}, "dtheta": {16.6, 0.2}} {
		prints(t, "part of "+input+", nm", math.Abs(influence(t, l, input).Part)/nm, want.part, want.unit)
	}
	for _, f := range l.Rows {
		if name := f.Input.Symbol.Name; name == "alpha_s" || name == "theta" {
			t.Errorf("c(%s) = %g, published 0", name, f.Derivative)
		}
	}
	// The two terms of second order, together; the printed inputs, which are rounded, give 11.9 for the
	// first.
	prints(t, "terms of second order, nm", math.Sqrt(l.Second.U*l.Second.U-l.First*l.First)/nm, math.Hypot(11.7, 1.7), 0.5)
}

// JCGM 100:2008 (GUM), H.2: simultaneous resistance and reactance (readings and figures from memory, the
// document was not opened).
func TestPublishedCorrelatedReadings(t *testing.T) {
	b := verified(t, "v68-correlated-readings.md")
	for name, want := range map[string][2]float64{"R": {127.732, 0.071}, "X": {219.847, 0.295}, "Z": {254.260, 0.236}} {
		prints(t, name, b[name].Value, want[0], 0.001)
		prints(t, "u("+name+")", b[name].First, want[1], 0.0015) // the readings give 0.2956 for X
	}
}

// JCGM 101:2008, 9.4: the comparison loss X1² + X2² (figures from memory, the document was not opened),
// in 1e-6: the mean, the uncertainty and the ends of the shortest 95 % interval by Monte Carlo, then the
// uncertainty by the law of propagation of first and second order. For x1 = 0 and parts that are not
// correlated the loss is exponentially distributed, and for r = 0.9 its variance is (4 + 4 r²) u⁴.
func TestPublishedComparisonLoss(t *testing.T) {
	for _, c := range []struct {
		x1, r                       float64
		mean, u, lo, hi, one, other float64
	}{
		{0, 0, 50, 50, 0, 150, 0, 50},
		{0.010, 0, 150, 112, 0, 367, 100, 112},
		{0.050, 0, 2551, 502, 1590, 3543, 500, 502},
		{0, 0.9, 50, 67, 0, 185, 0, 67},
		{0.010, 0.9, 150, 121, 13, 398, 100, 121},
		{0.050, 0.9, 2551, 505, 1628, 3555, 500, 505},
	} {
		lines := []string{fmt.Sprintf("x_1 = %g ± 0.005", c.x1), "x_2 = 0 ± 0.005"}
		if c.r != 0 {
			lines = append(lines, fmt.Sprintf("correlation(x_1, x_2) = %g", c.r))
		}
		_, b := sensitivitiesOf(t, "monte carlo 1000000", fence("inputs", lines...)+fence("calc", "y = x_1^2 + x_2^2")+fence("answers", "y"))
		name := fmt.Sprintf("x1 = %g, r = %g: ", c.x1, c.r)
		y, s := b["y"], b["y"].Sample
		// A million samples leave about a thousandth of the uncertainty to chance, and more of the ends of an
		// interval where few samples lie; the published figures are rounded and sampled as well.
		within := func(what string, got, want, chance float64) {
			t.Helper()
			if math.Abs(got*1e6-want) > 0.5+chance*c.u {
				t.Errorf("%s%s = %.2f, published %g", name, what, got*1e6, want)
			}
		}
		within("mean", s.Mean, c.mean, 0.004)
		within("u", s.U, c.u, 0.006)
		within("lower end", s.ShortLo, c.lo, 0.04)
		within("upper end", s.ShortHi, c.hi, 0.04)
		within("u by first order", y.First, c.one, 0)
		within("u by second order", y.Second.U, c.other, 0)
	}
}

// JCGM 101:2008, 9.2: four standard normals added (figures from memory, the document was not opened):
// mean 0.00, uncertainty 2.00, 95 % interval ±3.92, by the law of propagation and by Monte Carlo alike.
func TestPublishedAdditiveModel(t *testing.T) {
	_, b := sensitivitiesOf(t, "monte carlo 1000000 seed 9", fence("inputs", "x_1 = 0 ± 1", "x_2 = 0 ± 1", "x_3 = 0 ± 1", "x_4 = 0 ± 1")+
		fence("calc", "y = x_1 + x_2 + x_3 + x_4")+fence("answers", "y"))
	y := b["y"]
	near(t, "u by first order", y.First, 2, 1e-12)
	// Of the end of an interval √(p(1−p)/n)/density = 0.0053 is left to chance, twice here.
	for what, d := range map[string]float64{"mean": y.Sample.Mean, "u": y.Sample.U - 2, "lower end": y.Sample.Lo + 3.92, "upper end": y.Sample.Hi - 3.92} {
		if math.Abs(d) > 0.015 {
			t.Errorf("%s is off by %g", what, d)
		}
	}
}

// A plant with small uncertainties is straight over them: a million samples agree with first order to the
// tolerance of JCGM 101:2008, 8.1, of half a unit in the second digit of the uncertainty, and a wide one
// is not: there the caution fires, and the Monte Carlo is elsewhere.
func TestMonteCarloAgainstFirstOrder(t *testing.T) {
	_, b := sensitivitiesOf(t, "monte carlo 1000000", plantWithUncertainties())
	for name, y := range b {
		low, high, limit := y.Apart()
		if low > limit || high > limit || math.Abs(y.Sample.U-y.First) > limit || math.Abs(y.Sample.U/y.Second.U-1) > 0.004 {
			t.Errorf("%s: first order %g, second %g, Monte Carlo %g; ends off by %g and %g of %g", name, y.First, y.Second.U, y.Sample.U, low, high, limit)
		}
	}
	curved := fence("inputs", "eps = 90 % ± 3 %pt") + fence("calc", "ntu = eps/(1 - eps)") + fence("answers", "ntu")
	if r := build(t, curved); !has(r, "first-order") {
		t.Errorf("no caution:\n%s", printed(t, r))
	}
	_, b = sensitivitiesOf(t, "monte carlo 1000000", curved)
	if y := b["ntu"]; !(y.Sample.U > 1.2*y.First) || !(y.Sample.Mean > y.Value+y.First/10) {
		t.Errorf("first order %g, Monte Carlo %g, mean %g beside %g", y.First, y.Sample.U, y.Sample.Mean, y.Value)
	}
}
