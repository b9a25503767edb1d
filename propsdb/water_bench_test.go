package propsdb

import (
	"math/rand/v2"
	"testing"
)

// Water at random states of each region, so that branches are not foreseen:
// kinds 1, 2, 3 and 5 are the regions, 4 wet steam below 623.15 K and 7 above,
// 6 the neighbourhood of the critical point.

func benchWater(b *testing.B, kind int, run func(s *State, va, vb float64) float64, pair [2]Property) {
	rng := rand.New(rand.NewPCG(1, uint64(kind)))
	states := make([]State, benchPoints)
	va, vb := make([]float64, benchPoints), make([]float64, benchPoints)
	for i := range states {
		states[i] = drawWater(rng.Float64, kind)
		va[i], vb[i] = states[i].GetFast(pair[0]), states[i].GetFast(pair[1])
	}
	var sum float64
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		k := i & (benchPoints - 1)
		sum += run(&states[k], va[k], vb[k])
		i++
	}
	if sum != sum {
		b.Fatal("a state was not found")
	}
}

var benchKinds = [...]struct {
	name string
	kind int
}{{"liquid", 1}, {"steam", 2}, {"region3", 3}, {"critical", 6}, {"wet", 4}, {"wet3", 7}, {"hot", 5}}

func BenchmarkWaterState(b *testing.B) {
	for _, pair := range waterPairs {
		for _, k := range benchKinds {
			wet := k.kind == 4 || k.kind == 7
			if (pair[1] == X) && !wet || pair == [2]Property{T, P} && wet {
				continue
			}
			b.Run(pair[0].Symbol()+pair[1].Symbol()+"/"+k.name, func(b *testing.B) {
				benchWater(b, k.kind, func(s *State, va, vb float64) float64 {
					back := s.fluid.StateFast(pair[0], va, pair[1], vb)
					return back.t
				}, pair)
			})
		}
	}
}

func BenchmarkWaterGet(b *testing.B) {
	for _, q := range []Property{V, H, S, Cp, C, Mu, Lambda} {
		for _, k := range benchKinds {
			if (k.kind == 4 || k.kind == 7) && !isMixed(q) || k.kind == 5 && q >= Mu {
				continue
			}
			b.Run(q.Symbol()+"/"+k.name, func(b *testing.B) {
				benchWater(b, k.kind, func(s *State, _, _ float64) float64 {
					return s.GetFast(q)
				}, [2]Property{T, P})
			})
		}
	}
}

// What (p,T) costs with the property read from it.
func BenchmarkWaterForward(b *testing.B) {
	for _, k := range benchKinds {
		if k.kind == 4 || k.kind == 7 {
			continue
		}
		b.Run("h/"+k.name, func(b *testing.B) {
			benchWater(b, k.kind, func(s *State, va, vb float64) float64 {
				back := s.fluid.StateFast(T, va, P, vb)
				return back.GetFast(H)
			}, [2]Property{T, P})
		})
	}
}

func BenchmarkWaterBuild(b *testing.B) {
	for b.Loop() {
		d, err := readWater(waterFile)
		if err != nil {
			b.Fatal(err)
		}
		newWater(d)
	}
}
