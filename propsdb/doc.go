// Package propsdb gives fluids, their states and the properties of these, with
// the source of every figure. It knows ideal gases: a database of 64 (with air),
// ideal mixtures of them, and calorically perfect gases; and water and steam.
// Everything is float64 in plain SI: K, Pa, J/kg, J/(kg·K), m³/kg, kg/mol.
//
// # Map
//
//	Lookup, LookupOn      water, or a gas of the database, by name or alias
//	Mixture, MixtureOn    an ideal mixture by mole or mass
//	Perfect               constant specific heats from two of k, cp, cv, R, M
//	Fluid                 immutable; h(T), so(T), … and their inverses; its range, joints, source
//	Fluid.State           a State from two properties; Fluid.StateT, StateH from one
//	State                 Get reads a property, Inversion tells how T was found, Phase names that of water
//	…Fast                 the same arithmetic for an evaluation engine, NaN instead of errors
//	SaturationPressure, SaturationTemperature  of water
//	Fluid.Table           rows of a gas table
//	HeatingValue          of a gaseous fuel, from heats of formation
//	GasFuel, ElementalFuel  what burns: of the database, or by a data sheet
//	React, Products       complete lean combustion; flame temperature, fuel for an outlet T
//	DissociationHeat      whether the neglect of dissociation matters
//	HumidAir, HumidityRatio, RelativeHumidity, DewPoint  water in air and in exhaust
//	StandardAtmosphere    ISO 2533, with Geopotential and Geometric altitude
//	UserFluid             an ideal gas by the user's own cp(T)
//	Fluids, SearchFluids  what the tool carries; Gases, Search the ideal gases of it; DataSource where these are from
//
// Files: polynomial.go (cp, h and so of one gas), inverse.go (T from them),
// functions.go and state.go (what a caller asks for), database.go, mixture.go,
// perfect.go and userfluid.go (where fluids come from), products*.go (combustion,
// and its fluids), humid.go, atmosphere.go, data/gases.json (the figures).
//
// Water: if97series.go (its sums), if97regions.go (the basic equations),
// if97lines.go (what bounds the regions), if97edges.go (starts, densities and
// saturation above 623.15 K), watersolve.go, waterdense.go and waterhs.go (states
// from two properties), water.go, waterwhy.go (properties, errors),
// watertransport.go, data/if97.json.
//
// A fluid that is no ideal gas belongs beside functions.go and state.go:
// StateFast, GetFast and whyNot are where a State meets the model of its fluid,
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
// # Water and steam
//
// By IAPWS R7-97(2012) from 273.15 K to 1073.15 K at up to 100 MPa and to
// 2273.15 K at up to 50 MPa. Where the formulation has backward equations
// (R7-97, SR2-01, SR3-03, SR4-04) they start Newton's method on the basic
// equations, elsewhere tables and simple guesses do; the result always meets the
// basic equation, to 1e-10 of what was given (1e-8 within 2 mK of the critical
// point, 1e-6 within 0.02 mK). SR5-05, v(p,T) of region 3, is not used, nor the
// lines of SR4-04 between the regions in h and s: their coefficients were not at
// hand, and the basic equations decide. The rules for what has two answers or none:
//
//   - (p,T) picks the stable phase; there are no metastable states. On the
//     saturation line, within 1e-9 of p, it fixes nothing: *SaturationError.
//   - Between saturated liquid and vapour h, s, v, u, rho and Z are averages by
//     mass (the lever rule); cp, cv, k, c, mu, lambda and Pr exist for x = 0 and
//     x = 1 only, x itself only from 0 to 1: *NoPropertyError.
//   - (T,x) and (p,x) reach from 273.15 K to the critical point. Above 623.15 K
//     the densities of saturation are those of the basic equation at psat(T).
//   - Cold water: v at constant p is least near 4 °C, and of two temperatures
//     (p,v) gives the warmer. s at constant T rises with p at first below 4 °C: an s
//     between that of saturated liquid and vapour is a mixture of these, a smaller
//     one the liquid at the greater pressure. All else, (h,s) included, is unique.
//   - On the line between two regions 1 counts before 3, 2 before 3 and 5. The
//     equations differ there by up to 4e-5, 2e-4, 1.3e-4 in v and 31, 135, 97 J/kg
//     in h (lines 1/3, 2/3, 2/5; tested). A value in the gap or the
//     overlap is met exactly, by a T up to 0.03 K beyond the line; on the line 2/5
//     0.06 K, from v 0.15 K.
//
// Viscosity by R12-08 and thermal conductivity by R15-11, to 1173.15 K; their
// coefficients are from memory and meet the printed check values to all digits.
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
// one DatumID may have their h in one sum. Water counts h, u and s from the
// TriplePoint of the liquid, where u = s = 0.
//
// # Joints
//
// The polynomials of neighbouring ranges differ by a trifle where they meet
// (Fluid.Gap). At the joint the upper one counts; how the inverse keeps T
// monotone there is told in inverse.go.
//
// # What it does not know
//
// Real-gas effects of all but water: Z of a gas is 1 at every pressure, and nothing
// condenses. Reactions
// other than complete combustion: a composition is kept as given, however hot;
// above some 1500 to 2000 K real combustion gases and air begin to dissociate
// (common practice, no source; DissociationHeat estimates how much), and the
// ranges reach 6000 K and 20000 K only because the data do. Transport properties of
// gases, but for the viscosity of air (Sutherland's formula of the standard
// atmosphere, to 1900 K).
package propsdb
