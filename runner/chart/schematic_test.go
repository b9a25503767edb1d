package chart

import (
	"os"
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

func TestSchematicDump(t *testing.T) {
	for name, lines := range plants() {
		p := plantOf(t, lines).plan()
		d := p.layout()
		t.Log(name, d.cost)
		os.WriteFile("/tmp/schem/"+name+".svg", plantOf(t, lines).SVG(name), 0o644)
	}
}
