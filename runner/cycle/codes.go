package cycle

import "workings/runner/diag"

// The codes of findings. The first group are errors: the states cannot be. The second are cautions.
const (
	CodeIsentropic    diag.Code = "beyond-isentropic"   // a machine better than a reversible one
	CodeWorkSign      diag.Code = "work-direction"      // a turbine that takes work, a compressor that gives it
	CodeHeatSign      diag.Code = "heat-direction"      // a heater that cools, a cooler that heats
	CodeEntropy       diag.Code = "entropy-destroyed"   // in a valve, mixer, splitter or exchanger
	CodeCross         diag.Code = "temperature-cross"   // along a heat exchanger
	CodeFeed          diag.Code = "regenerator-feed"    // fed hotter than the turbine exhaust
	CodeRise          diag.Code = "pressure-rise"       // through a component without a machine
	CodeEffectiveness diag.Code = "effectiveness"       // outside 0 … 1
	CodeEnergy        diag.Code = "energy-residual"     // a component or plant out of balance
	CodeCarnot        diag.Code = "above-carnot"        // efficiency above Carnot's
	CodeLeftOut       diag.Code = "heat-left-out"       // a heater that the author's efficiency left out
	CodePartner       diag.Code = "isentropic-partner"  // a state named …s off the inlet's entropy
	CodeUsual         diag.Code = "usual-range"         // outside what is usual in the trade
	CodeApproach      diag.Code = "small-approach"      // a temperature difference that is small
	CodeScale         diag.Code = "pressure-scale"      // a pressure or ratio that hints at gauge or a wrong scale
	CodeMixedGauge    diag.Code = "gauge-mixed"         // gauge and absolute readings in one stage
	CodeKelvin        diag.Code = "kelvin-shift"        // 273.15 taken off a temperature in K
	CodeNoLoss        diag.Code = "no-pressure-loss"    // nowhere, and no assumption says so
	CodeConstantCp    diag.Code = "constant-cp"         // a perfect gas far from where its cp holds
	CodeStream        diag.Code = "heat-with-stream"    // an efficiency that leaves out what a stream brings
	CodeBasis         diag.Code = "effectiveness-basis" // on temperature, and nothing says so
)
