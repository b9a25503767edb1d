package propsdb

import (
	"fmt"
	"strings"
)

// UnknownFluidError: the database has no gas of that name.
type UnknownFluidError struct {
	Name string
	Near []string // spellings that come close, nearest first; may be empty
}

func (e *UnknownFluidError) Error() string {
	s := fmt.Sprintf("no gas %q in the database", e.Name)
	if len(e.Near) > 0 {
		s += "; near it: " + strings.Join(e.Near, ", ")
	}
	return s
}

// DatumError: the fluid's enthalpy cannot be counted from the datum asked for.
type DatumError struct {
	Fluid  string
	Datum  Datum
	Reason string
}

func (e *DatumError) Error() string {
	return fmt.Sprintf("%s has no %s datum: %s", e.Fluid, e.Datum, e.Reason)
}

// PairError: the two properties do not fix the state of the fluid.
type PairError struct {
	Fluid   string
	A, B    Property
	Allowed [][2]Property // the pairs that do
}

func (e *PairError) Error() string {
	return fmt.Sprintf("(%s,%s) does not fix a state of %s; these pairs do: %s",
		e.A.Symbol(), e.B.Symbol(), e.Fluid, pairList(e.Allowed))
}

func pairList(pairs [][2]Property) string {
	list := make([]string, len(pairs))
	for i, p := range pairs {
		a, b := p[0], p[1]
		if a == T && b != X && b != V {
			a, b = b, a // (p,T) and (s,T) as the trade writes them
		}
		list[i] = "(" + a.Symbol() + "," + b.Symbol() + ")"
	}
	return strings.Join(list, " ")
}

// RangeError: a value lies outside what the data cover. Value, Lo and Hi are in
// Property.Unit(). The property may be one that follows from those given, such
// as T from (p,v).
type RangeError struct {
	Property Property
	Value    float64
	Lo, Hi   float64
	Of       string // whose range it is: the fluid
}

func (e *RangeError) Error() string {
	unit := e.Property.Unit()
	if unit == "1" {
		unit = ""
	} else {
		unit = " " + unit
	}
	return fmt.Sprintf("%s %s = %.8g%s is outside %.8g to %.8g%s of %s",
		e.Property.Name(), e.Property.Symbol(), e.Value, unit, e.Lo, e.Hi, unit, e.Of)
}

// ValueError: a value that no fluid can have, such as a negative pressure.
type ValueError struct {
	Property Property
	Value    float64
	Reason   string
}

func (e *ValueError) Error() string {
	return fmt.Sprintf("%s %s = %g %s", e.Property.Name(), e.Property.Symbol(), e.Value, e.Reason)
}

// NeedsPressureError: the state was given by T or h alone, and the property
// depends on pressure as well.
type NeedsPressureError struct {
	Fluid    string
	Property Property
}

func (e *NeedsPressureError) Error() string {
	return fmt.Sprintf("%s of %s needs a pressure, and the state was fixed without one", e.Property.Name(), e.Fluid)
}

// AloneError: one property alone does not fix a state of the fluid; only for an
// ideal gas are h, u and so functions of T alone.
type AloneError struct {
	Fluid    string
	Property Property
	Allowed  [][2]Property // the pairs that fix one
}

func (e *AloneError) Error() string {
	return fmt.Sprintf("%s alone does not fix a state of %s; these pairs do: %s", e.Property.Symbol(), e.Fluid, pairList(e.Allowed))
}

// SaturationError: p and T lie on the saturation line, where they leave open how
// much is liquid and how much vapour.
type SaturationError struct {
	Fluid string
	T, P  float64 // K, Pa
}

func (e *SaturationError) Error() string {
	return fmt.Sprintf("T = %.8g K is the saturation temperature of %s at p = %.8g Pa, where (p,T) leaves open how much is vapour: "+
		"give (p,x) or (T,x), with x = 0 for saturated liquid and x = 1 for saturated vapour", e.T, e.Fluid, e.P)
}

// NoPropertyError: the state has no such property, such as the dryness fraction
// of an ideal gas.
type NoPropertyError struct {
	Fluid    string
	Property Property
	Reason   string // why, where the fluid is no ideal gas
}

func (e *NoPropertyError) Error() string {
	if e.Reason != "" {
		return fmt.Sprintf("%s here has no %s %s: %s", e.Fluid, e.Property.Name(), e.Property.Symbol(), e.Reason)
	}
	return fmt.Sprintf("%s, an ideal gas, has no %s %s", e.Fluid, e.Property.Name(), e.Property.Symbol())
}

// PerfectError: what was given does not make a calorically perfect gas.
type PerfectError struct {
	Name   string
	Given  []Property // in the order of the constants
	Reason string
}

func (e *PerfectError) Error() string {
	return fmt.Sprintf("perfect gas %s from (%s): %s", e.Name, symbols(e.Given), e.Reason)
}

// MixtureError: the parts do not make a mixture.
type MixtureError struct {
	Name   string
	Part   string // the part at fault, or empty
	Reason string
}

func (e *MixtureError) Error() string {
	if e.Part != "" {
		return fmt.Sprintf("mixture %s, part %s: %s", e.Name, e.Part, e.Reason)
	}
	return fmt.Sprintf("mixture %s: %s", e.Name, e.Reason)
}

// FractionSumError: the fractions of a mixture do not sum to 1.
type FractionSumError struct {
	Name  string
	Basis Basis
	Sum   float64
}

func (e *FractionSumError) Error() string {
	return fmt.Sprintf("the %s fractions of mixture %s sum to %.10g, not to 1 (within %g)", e.Basis, e.Name, e.Sum, FractionTolerance)
}

// FuelError: it does not burn here, or its data do not say what is asked.
type FuelError struct {
	Gas, Reason string
}

func (e *FuelError) Error() string {
	return fmt.Sprintf("%s as a fuel: %s", e.Gas, e.Reason)
}

func symbols(ps []Property) string {
	s := make([]string, len(ps))
	for i, p := range ps {
		s[i] = p.Symbol()
	}
	return strings.Join(s, ", ")
}
