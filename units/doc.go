// Package units knows what units of measurement mean: it parses them, checks dimensions, converts between them, prints
// them, and rounds numbers for printing. It imports no other package of the project.
//
// # Map
//
//   - Dimension (dimension.go, quantity.go): rational exponents of six base quantities; a comparable value with the
//     trade's names ("specific enthalpy or specific work") for messages. DimPressure and its like return the usual ones.
//   - Unit (unit.go): a dimension, a factor to the coherent SI unit, and a Kind: Scale, Point (°C, °F), Difference
//     (Δ°C, Δ°F) or Gauge (barg, psig). ToSI, FromSI and Convert.
//   - Scan (scan.go) finds where a unit ends in a line; Parse (parse.go) says what it is or why it is none, with a
//     *ParseError (errors.go) that carries readings and near misses (near.go). String and ASCII (print.go) print it so that Parse
//     reads the same unit back.
//   - All (list.go) lists the table (table.go): every unit with its definition and the document that defines it.
//   - Preferred, PreferenceList and SIUnit (prefer.go): which unit to print a quantity in where the author names none.
//   - FormatNumber (format.go): significant digits.
//
// All tables are built on first use and never written again; every function may be called from several goroutines.
//
// # Choices where a symbol has several meanings
//
//   - Btu and cal are those of the International Table (1 Btu/(lbm·°R) = 1 kcal/(kg·K) exactly); Btu_th and cal_th are thermochemical.
//     therm is the US legal one, therm_EC the European. hp is mechanical, PS metric, hp_electric 746 W.
//     mmHg, inHg, mmH2O, inH2O and ftH2O are conventional (13 595.1 and 1000 kg/m³, g_n). Unit.Definition prints the choice.
//   - lb (mass or force), ton, gal, MBtu, C, F and R are refused with what they may have meant: an author who writes 15 C
//     means 15 °C, not a charge. The coulomb, farad, siemens, tesla, henry and weber are spelled out, because their
//     letters are the symbols of temperature, force, entropy and enthalpy, and K/T must not pass for kelvin per tesla.
//   - psi, psia, bar and bara are absolute; psig, barg, mbarg, Pag, kPag and MPag are gauge.
//   - rpm is 2π rad/min and Hz is 1/s: an angle counts as the pure number of its radians.
//
// # What a check of units cannot catch
//
// Two quantities of one dimension are one to it: torque and energy (N·m and J), specific enthalpy and velocity squared, specific heat
// and gas constant, pressure and energy per volume, Hz and rad/s, a mass fraction and a mole fraction, an efficiency
// and its inverse, gross and net heating value. It does not know whether a pressure read without its g was meant as gauge, whether
// it is static or total, at which datum an enthalpy is zero, or whether a number was copied in the wrong power of ten. A sheet whose
// units agree is not thereby right.
package units
