package sheet

import (
	"strconv"

	"workings/runner/study"
	"workings/units"
)

// The records of what the inputs do to the answers. All figures are in SI.
type (
	jsonSensitivities struct {
		Order        int               `json:"order"`
		Samples      int               `json:"samples,omitempty"`
		Seed         string            `json:"seed,omitempty"`
		Failed       int               `json:"failed,omitempty"`
		Outside      members           `json:"outside,omitempty"`
		AllInputs    bool              `json:"all_inputs"`
		Correlations []jsonCorrelation `json:"correlations"`
		Answers      []jsonBudget      `json:"answers"`
	}
	jsonCorrelation struct {
		Inputs [2]string `json:"inputs"`
		R      number    `json:"r"`
		File   string    `json:"file,omitempty"`
		Line   int       `json:"line"`
	}
	jsonBudget struct {
		Symbol     string          `json:"symbol"`
		Value      number          `json:"value"`
		SIUnit     string          `json:"si_unit"`
		FirstOrder number          `json:"first_order"`
		Second     *jsonSecond     `json:"second_order,omitempty"`
		MonteCarlo *jsonSampled    `json:"monte_carlo,omitempty"`
		Inputs     []jsonInfluence `json:"inputs"`
	}
	jsonSecond struct {
		Uncertainty number `json:"uncertainty"`
		Shift       number `json:"shift"`
		Mixed       bool   `json:"mixed"`
	}
	jsonSampled struct {
		Samples     int       `json:"samples"`
		Mean        number    `json:"mean"`
		Uncertainty number    `json:"uncertainty"`
		Interval    [2]number `json:"interval"`
		Shortest    [2]number `json:"shortest"`
	}
	jsonInfluence struct {
		Input       string  `json:"input"`
		Value       number  `json:"value"`
		SIUnit      string  `json:"si_unit"`
		Uncertainty *number `json:"uncertainty,omitempty"`
		Derivative  number  `json:"derivative"`
		Error       number  `json:"derivative_error"`
		Corner      bool    `json:"corner,omitempty"`
		Jump        bool    `json:"jump,omitempty"`
		OneSided    bool    `json:"one_sided,omitempty"`
		Part        *number `json:"contribution,omitempty"`
		Share       *number `json:"share,omitempty"`
		Relative    number  `json:"relative"`
		Percent     number  `json:"for_one_percent"`
	}
)

// jsonSensitivities is nil where there is nothing to say.
func (p *page) jsonSensitivities() *jsonSensitivities {
	s := p.o.Sensitivities
	if s == nil {
		return nil
	}
	j := &jsonSensitivities{Order: s.Method.Order, AllInputs: s.All, Correlations: []jsonCorrelation{}, Answers: []jsonBudget{}}
	if x := s.Samples; x != nil && x.Problem == "" {
		j.Samples, j.Seed, j.Failed = s.Method.Samples, strconv.FormatUint(s.Method.Seed, 10), x.Failed
		for _, o := range x.Outside {
			j.Outside = append(j.Outside, member{o.Input.Full(), o.Samples})
		}
	}
	for _, c := range s.Correlations {
		j.Correlations = append(j.Correlations, jsonCorrelation{[2]string{c.Of[0].Full(), c.Of[1].Full()}, number(c.R), p.fileOf(c.Line.File), typedLine(c.Line)})
	}
	for _, b := range s.Answers {
		j.Answers = append(j.Answers, p.jsonBudget(b))
	}
	return j
}

func (p *page) jsonBudget(b *study.Budget) jsonBudget {
	j := jsonBudget{Symbol: b.Of.Symbol.Full(), Value: number(b.Value), SIUnit: units.SIUnit(b.Of.Symbol.Type.Dim).String(), FirstOrder: number(b.First), Inputs: []jsonInfluence{}}
	if two := b.Second; two != nil {
		j.Second = &jsonSecond{number(two.U), number(two.Shift), two.Mixed}
	}
	if x := b.Sample; x != nil {
		j.MonteCarlo = &jsonSampled{x.N, number(x.Mean), number(x.U), [2]number{number(x.Lo), number(x.Hi)}, [2]number{number(x.ShortLo), number(x.ShortHi)}}
	}
	for _, f := range b.Rows {
		in := f.Input.Symbol
		row := jsonInfluence{Input: in.Full(), Value: number(f.Input.Value), SIUnit: units.SIUnit(in.Type.Dim).String(), Derivative: number(f.Derivative), Error: number(f.Error),
			Corner: f.Corner, Jump: f.Jump, OneSided: f.OneSided, Relative: number(f.Relative), Percent: number(f.Percent)}
		if f.Uncertain() {
			u, part, share := number(f.Input.Spread), number(f.Part), number(f.Share)
			row.Uncertainty, row.Part, row.Share = &u, &part, &share
		}
		j.Inputs = append(j.Inputs, row)
	}
	return j
}
