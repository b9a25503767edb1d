package units

import "sync"

// dim is a dimension with whole exponents.
func dim(mass, length, time, temperature, amount, current int8) Dimension {
	return Dimension{exps: [baseCount]ratio{{num: mass}, {num: length}, {num: time}, {num: temperature}, {num: amount}, {num: current}}}
}

// DimMass is the dimension of mass (kg).
func DimMass() Dimension { return dim(1, 0, 0, 0, 0, 0) }

// DimLength is the dimension of length (m).
func DimLength() Dimension { return dim(0, 1, 0, 0, 0, 0) }

// DimArea is the dimension of area (m²).
func DimArea() Dimension { return dim(0, 2, 0, 0, 0, 0) }

// DimVolume is the dimension of volume (m³).
func DimVolume() Dimension { return dim(0, 3, 0, 0, 0, 0) }

// DimTime is the dimension of time (s).
func DimTime() Dimension { return dim(0, 0, 1, 0, 0, 0) }

// DimTemperature is the dimension of thermodynamic temperature (K).
func DimTemperature() Dimension { return dim(0, 0, 0, 1, 0, 0) }

// DimAmount is the dimension of amount of substance (mol).
func DimAmount() Dimension { return dim(0, 0, 0, 0, 1, 0) }

// DimCurrent is the dimension of electric current (A).
func DimCurrent() Dimension { return dim(0, 0, 0, 0, 0, 1) }

// DimVelocity is the dimension of velocity (m/s).
func DimVelocity() Dimension { return dim(0, 1, -1, 0, 0, 0) }

// DimAcceleration is the dimension of acceleration (m/s²).
func DimAcceleration() Dimension { return dim(0, 1, -2, 0, 0, 0) }

// DimFrequency is the dimension of frequency and of rotational speed (1/s).
func DimFrequency() Dimension { return dim(0, 0, -1, 0, 0, 0) }

// DimForce is the dimension of force (N).
func DimForce() Dimension { return dim(1, 1, -2, 0, 0, 0) }

// DimPressure is the dimension of pressure (Pa), and of energy per volume.
func DimPressure() Dimension { return dim(1, -1, -2, 0, 0, 0) }

// DimEnergy is the dimension of energy (J), and of torque.
func DimEnergy() Dimension { return dim(1, 2, -2, 0, 0, 0) }

// DimPower is the dimension of power and heat rate (W).
func DimPower() Dimension { return dim(1, 2, -3, 0, 0, 0) }

// DimEnergyPerMass is the dimension of specific enthalpy, internal energy and work (J/kg), and of a velocity squared.
func DimEnergyPerMass() Dimension { return dim(0, 2, -2, 0, 0, 0) }

// DimEntropyPerMass is the dimension of specific entropy, specific heat capacity and a gas's R (J/(kg·K)).
func DimEntropyPerMass() Dimension { return dim(0, 2, -2, -1, 0, 0) }

// DimEnergyPerAmount is the dimension of molar enthalpy (J/mol).
func DimEnergyPerAmount() Dimension { return dim(1, 2, -2, 0, -1, 0) }

// DimEntropyPerAmount is the dimension of molar entropy, molar heat capacity and R_u (J/(mol·K)).
func DimEntropyPerAmount() Dimension { return dim(1, 2, -2, -1, -1, 0) }

// DimMolarMass is the dimension of molar mass (kg/mol).
func DimMolarMass() Dimension { return dim(1, 0, 0, 0, -1, 0) }

// DimMassFlow is the dimension of mass flow (kg/s).
func DimMassFlow() Dimension { return dim(1, 0, -1, 0, 0, 0) }

// DimVolumeFlow is the dimension of volume flow (m³/s).
func DimVolumeFlow() Dimension { return dim(0, 3, -1, 0, 0, 0) }

// DimMolarFlow is the dimension of molar flow (mol/s).
func DimMolarFlow() Dimension { return dim(0, 0, -1, 0, 1, 0) }

// DimDensity is the dimension of density (kg/m³).
func DimDensity() Dimension { return dim(1, -3, 0, 0, 0, 0) }

// DimSpecificVolume is the dimension of specific volume (m³/kg).
func DimSpecificVolume() Dimension { return dim(-1, 3, 0, 0, 0, 0) }

// DimEntropy is the dimension of entropy and of heat capacity (J/K).
func DimEntropy() Dimension { return dim(1, 2, -2, -1, 0, 0) }

// DimEntropyRate is the dimension of entropy flow and of heat capacity rate (W/K).
func DimEntropyRate() Dimension { return dim(1, 2, -3, -1, 0, 0) }

// quantityNames names the dimensions that the trade has a name for. Where two quantities share a
// dimension both are named: the check cannot tell them apart, and its message must not pretend to.
var quantityNames = sync.OnceValue(func() map[Dimension]string {
	return map[Dimension]string{
		DimMass():               "mass",
		DimLength():             "length",
		DimArea():               "area",
		DimVolume():             "volume",
		DimTime():               "time",
		DimTemperature():        "temperature",
		DimAmount():             "amount of substance",
		DimCurrent():            "electric current",
		DimVelocity():           "velocity",
		DimAcceleration():       "acceleration",
		DimFrequency():          "frequency or rotational speed",
		DimForce():              "force",
		DimPressure():           "pressure",
		DimEnergy():             "energy",
		DimPower():              "power",
		DimEnergyPerMass():      "specific enthalpy or specific work",
		DimEntropyPerMass():     "specific entropy or specific heat capacity",
		DimEnergyPerAmount():    "molar enthalpy or molar work",
		DimEntropyPerAmount():   "molar entropy or molar heat capacity",
		DimMolarMass():          "molar mass",
		DimMassFlow():           "mass flow",
		DimVolumeFlow():         "volume flow",
		DimMolarFlow():          "molar flow",
		DimDensity():            "density",
		DimSpecificVolume():     "specific volume",
		DimEntropy():            "entropy or heat capacity",
		DimEntropyRate():        "entropy flow or heat capacity rate",
		dim(1, -1, -1, 0, 0, 0): "dynamic viscosity",
		dim(0, 2, -1, 0, 0, 0):  "kinematic viscosity or diffusivity",
		dim(1, 1, -3, -1, 0, 0): "thermal conductivity",
		dim(1, 0, -3, -1, 0, 0): "heat transfer coefficient",
		dim(1, 0, -3, 0, 0, 0):  "heat flux",
		dim(1, 0, -2, 0, 0, 0):  "surface tension or force per length",
		dim(1, -2, -1, 0, 0, 0): "mass flux",
		dim(1, 1, -1, 0, 0, 0):  "momentum",
		dim(1, 2, 0, 0, 0, 0):   "moment of inertia",
		dim(0, -3, 0, 0, 1, 0):  "amount concentration",
		dim(0, 3, 0, 0, -1, 0):  "molar volume",
		dim(0, -2, 2, 0, 0, 0):  "specific fuel consumption",
		dim(0, -1, 1, 0, 0, 0):  "thrust specific fuel consumption",
		dim(0, 0, -1, 1, 0, 0):  "rate of temperature change",
		dim(0, -1, 0, 1, 0, 0):  "temperature gradient",
		dim(0, 0, 0, -1, 0, 0):  "coefficient of thermal expansion",
		dim(0, 0, 1, 0, 0, 1):   "electric charge",
		dim(1, 2, -3, 0, 0, -1): "voltage",
		dim(1, 2, -3, 0, 0, -2): "electric resistance",
	}
})

// Name returns the trade's name of the quantity that has this dimension ("pressure", "mass flow",
// "specific enthalpy or specific work"), or "" where there is none.
func (d Dimension) Name() string { return quantityNames()[d] }
