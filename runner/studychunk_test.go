package runner

import (
	"math"

	"workings/propsdb"
)

// The cycles chunked, fused and hoisted by hand: the fastest that plain Go with the property
// functions of the tool gives. What does not vary is computed once, arithmetic between two property
// calls is one loop.

// chunkedAir is air with room for the values of a chunk.
type chunkedAir struct {
	f    *propsdb.Fluid
	room [24][]float64
}

func newChunkedAir(f *propsdb.Fluid) *chunkedAir {
	c := &chunkedAir{f: f}
	for i := range c.room {
		c.room[i] = make([]float64, 256)
	}
	return c
}

func (c *chunkedAir) h(dst, T []float64) {
	logs := c.room[23][:len(T)]
	propsdb.LnEach(logs, T)
	c.f.EnthalpyEach(dst, T, logs)
}

// hAndSo share the logarithm.
func (c *chunkedAir) hAndSo(h, so, T []float64) {
	logs := c.room[23][:len(T)]
	propsdb.LnEach(logs, T)
	c.f.EnthalpyEach(h, T, logs)
	c.f.SoEach(so, T, logs)
}

func newChunkedA(f *propsdb.Fluid) chunked {
	c := newChunkedAir(f)
	return func(rp, T6, _ []float64, out [][]float64) {
		in, r, n := ownPlant(), f.R(), len(rp)
		eta, net, T4, bwr, sfc := out[0][:n], out[1][:n], out[2][:n], out[3][:n], out[4][:n]
		a, b, p6, p8, h2, h4 := c.room[0][:n], c.room[1][:n], c.room[2][:n], c.room[3][:n], c.room[4][:n], c.room[5][:n]
		h6, so6, h7, h9, l, s := c.room[6][:n], c.room[7][:n], c.room[8][:n], c.room[9][:n], c.room[10][:n], c.room[11][:n]
		h1, so1 := f.HFast(in.T1), f.SoFast(in.T1)
		s1 := so1 - r*propsdb.Ln(in.p1/bar)
		p9 := in.p1 / (1 - in.dpRC)
		l9 := r * propsdb.Ln(p9/bar)
		for i, x := range rp {
			p2 := in.p1 * math.Sqrt(x)
			a[i] = p2 / bar
			b[i] = p2 * (1 - in.dpIC) / bar
			p6[i] = in.p1 * x
		}
		propsdb.LnEach(a, a)
		for i := range a {
			a[i] = s1 + r*a[i]
		}
		f.TofSoEach(a, a)
		c.h(h2, a)
		for i := range a {
			h2[i] = h1 + (h2[i]-h1)/in.etaC
			l[i] = p6[i] / bar
		}
		propsdb.LnEach(b, b)
		propsdb.LnEach(l, l)
		for i := range a {
			a[i] = so1 - r*b[i] + r*l[i]
		}
		f.TofSoEach(a, a)
		c.h(h4, a)
		for i := range a {
			h4[i] = h1 + (h4[i]-h1)/in.etaC
			p6[i] = p6[i] * (1 - in.dpRC) * (1 - in.dpCC)
			p7 := math.Sqrt(p6[i] * p9)
			p8[i] = p7 * (1 - in.dpRH) / bar
			a[i], b[i] = p6[i]/bar, p7/bar
		}
		f.TofHEach(T4, h4)
		c.hAndSo(h6, so6, T6)
		propsdb.LnEach(a, a)
		propsdb.LnEach(b, b)
		propsdb.LnEach(l, p8)
		for i := range a {
			a[i] = so6[i] - r*a[i] + r*b[i]
			s[i] = so6[i] - r*l[i] + l9
		}
		f.TofSoEach(a, a)
		c.h(h7, a)
		f.TofSoEach(s, s)
		c.h(h9, s)
		for i := range a {
			H6, H4 := h6[i], h4[i]
			H7 := H6 - in.etaT*(H6-h7[i])
			H9 := H6 - in.etaT*(H6-h9[i])
			h5 := H4 + in.eps*(H9-H4)
			wc := (h2[i] - h1) + (H4 - h1)
			wt := (H6 - H7) + (H6 - H9)
			q := ((H6 - h5) + (H6 - H7)) / in.etaCC
			w := in.etaM*wt - wc
			eta[i], net[i] = w/q, w
			bwr[i] = wc / (in.etaM * wt)
			sfc[i] = in.m * q / in.LHV / (in.m * w)
		}
	}
}

func newChunkedB(f *propsdb.Fluid) chunked {
	c := newChunkedAir(f)
	return func(rp, T6, T8 []float64, out [][]float64) {
		in, r, n := ownPlant(), f.R(), len(rp)
		eta, net, T2, T4, T7, T9, T5 := out[0][:n], out[1][:n], out[2][:n], out[3][:n], out[4][:n], out[5][:n], out[6][:n]
		a, b, p6, p8, h2, h4 := c.room[0][:n], c.room[1][:n], c.room[2][:n], c.room[3][:n], c.room[4][:n], c.room[5][:n]
		h6, so6, h7, h9, l, s := c.room[6][:n], c.room[7][:n], c.room[8][:n], c.room[9][:n], c.room[10][:n], c.room[11][:n]
		h8, so8, h5 := c.room[12][:n], c.room[13][:n], c.room[14][:n]
		h1, h3, so3 := f.HFast(in.T1), f.HFast(in.T3), f.SoFast(in.T3)
		s1 := f.SoFast(in.T1) - r*propsdb.Ln(in.p1/bar)
		p9 := in.p1 / (1 - in.dpRC)
		l9 := r * propsdb.Ln(p9/bar)
		for i, x := range rp {
			p2 := in.p1 * math.Sqrt(x)
			a[i] = p2 / bar
			b[i] = p2 * (1 - in.dpIC) / bar
			p6[i] = in.p1 * x
		}
		propsdb.LnEach(a, a)
		for i := range a {
			a[i] = s1 + r*a[i]
		}
		f.TofSoEach(a, a)
		c.h(h2, a)
		for i := range a {
			h2[i] = h1 + (h2[i]-h1)/in.etaC
			l[i] = p6[i] / bar
		}
		f.TofHEach(T2, h2)
		propsdb.LnEach(b, b)
		propsdb.LnEach(l, l)
		for i := range a {
			a[i] = so3 - r*b[i] + r*l[i]
		}
		f.TofSoEach(a, a)
		c.h(h4, a)
		for i := range a {
			h4[i] = h3 + (h4[i]-h3)/in.etaC
			p6[i] = p6[i] * (1 - in.dpRC) * (1 - in.dpCC)
			p7 := math.Sqrt(p6[i] * p9)
			p8[i] = p7 * (1 - in.dpRH) / bar
			a[i], b[i] = p6[i]/bar, p7/bar
		}
		f.TofHEach(T4, h4)
		c.hAndSo(h6, so6, T6)
		c.hAndSo(h8, so8, T8)
		propsdb.LnEach(a, a)
		propsdb.LnEach(b, b)
		propsdb.LnEach(l, p8)
		for i := range a {
			a[i] = so6[i] - r*a[i] + r*b[i]
			s[i] = so8[i] - r*l[i] + l9
		}
		f.TofSoEach(a, a)
		c.h(h7, a)
		f.TofSoEach(s, s)
		c.h(h9, s)
		for i := range a {
			h7[i] = h6[i] - in.etaT*(h6[i]-h7[i])
			h9[i] = h8[i] - in.etaT*(h8[i]-h9[i])
			h5[i] = h4[i] + in.eps*(h9[i]-h4[i])
		}
		f.TofHEach(T7, h7)
		f.TofHEach(T9, h9)
		f.TofHEach(T5, h5)
		for i := range a {
			wc := (h2[i] - h1) + (h4[i] - h3)
			wt := (h6[i] - h7[i]) + (h8[i] - h9[i])
			q := ((h6[i] - h5[i]) + (h8[i] - h7[i])) / in.etaCC
			w := in.etaM*wt - wc
			eta[i], net[i] = w/q, w
		}
	}
}
