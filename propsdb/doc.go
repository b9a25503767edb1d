// Package propsdb gives fluids, their states and the properties of these, with
// the source of every figure. It knows ideal gases: a database of 64 (with air),
// ideal mixtures of them, and calorically perfect gases. Everything is float64
// in plain SI: K, Pa, J/kg, J/(kg·K), m³/kg, kg/mol.
//
// # Map
//
//	Lookup, LookupOn      a gas of the database by name or alias
//	Mixture, MixtureOn    an ideal mixture by mole or mass
//	Perfect               constant specific heats from two of k, cp, cv, R, M
//	Fluid                 immutable; h(T), so(T), … and their inverses; its range, joints, source
//	Fluid.State           a State from two properties; Fluid.StateT, StateH from one
//	State                 Get reads a property, Inversion tells how T was found
//	…Fast                 the same arithmetic for an evaluation engine, NaN instead of errors
//	Fluid.Table           rows of a gas table
//	HeatingValue          of a gaseous fuel, from heats of formation
//	GasFuel, ElementalFuel  what burns: of the database, or by a data sheet
//	React, Products       complete lean combustion; flame temperature, fuel for an outlet T
//	DissociationHeat      whether the neglect of dissociation matters
//	HumidAir, HumidityRatio, RelativeHumidity, DewPoint  water in air and in exhaust
//	StandardAtmosphere    ISO 2533, with Geopotential and Geometric altitude
//	UserFluid             an ideal gas by the user's own cp(T)
//	Gases, Search         what the database holds; DataSource where it is from
//
// Files: polynomial.go (cp, h and so of one gas), inverse.go (T from them),
// functions.go and state.go (what a caller asks for), database.go, mixture.go,
// perfect.go and userfluid.go (where fluids come from), products*.go (combustion,
// and its fluids), humid.go, atmosphere.go, data/gases.json (the figures).
//
// A fluid that is no ideal gas (steam) belongs beside functions.go and state.go:
// SolveFast, GetFast and whyNot are where a State meets the model of its fluid,
// and nothing above them knows which it is.
//
// # Data
//
// The coefficients are NASA's: McBride, Zehe, Gordon, NASA Glenn Coefficients
// for Calculating Thermodynamic Properties of Individual Species,
// NASA/TP-2002-211556, 2002, from the machine-readable thermo.inp. The gas
// constant that goes with them is FitGasConstant, 8.314510 J/(mol·K); with the
// exact value of the 2019 SI they would no longer meet the heats of formation.
// Lower bounds of the ranges are those of 2002 (200 K for most); NASA's revision
// of 2021 raised some to 300 K, which would shut out the standard atmosphere.
// Fluid.Source carries all this and the SHA-256 of the data file.
//
// # From where h, u and s count
//
// On the ZeroKelvin datum h(T) = H(T) − H(298.15 K) + [H(298.15 K) − H(0 K)] per
// mass, the bracket being tabulated with the coefficients. On the Formation
// datum it is NASA's H: zero for the elements at 298.15 K. Where the bracket is
// not published (Jet-A) only Formation exists. Entropy counts from absolute zero
// at 1 bar in both. A perfect gas has zeros of its own: h = 0 at 0 K, s = 0 at
// 298.15 K and 1 bar, and a gas by the user's data those it is given. Products of
// combustion on the ZeroKelvin datum share it with no other fluid, since between
// their h and that of the air lies a reaction; on Formation all add up. Fluids of
// one DatumID may have their h in one sum.
//
// # Joints
//
// The polynomials of neighbouring ranges differ by a trifle where they meet
// (Fluid.Gap). At the joint the upper one counts; how the inverse keeps T
// monotone there is told in inverse.go.
//
// # What it does not know
//
// Real-gas effects: Z is 1 at every pressure, and nothing condenses. Reactions
// other than complete combustion: a composition is kept as given, however hot;
// above some 1500 to 2000 K real combustion gases and air begin to dissociate
// (common practice, no source; DissociationHeat estimates how much), and the
// ranges reach 6000 K and 20000 K only because the data do. Transport properties.
package propsdb
