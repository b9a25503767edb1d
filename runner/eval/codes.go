package eval

import "workings/runner/diag"

// The codes of this stage.
const (
	CodeDivision     diag.Code = "division-by-zero"
	CodeOverflow     diag.Code = "overflow"
	CodeDomain       diag.Code = "no-real-value"
	CodeRange        diag.Code = "out-of-range" // of property data or a table
	CodeBelowZero    diag.Code = "temperature"  // below absolute zero
	CodeRich         diag.Code = "rich-mixture" // more fuel than the oxygen burns
	CodeTwoStates    diag.Code = "two-states"   // of cold water, and one was taken
	CodeDissociation diag.Code = "dissociation"
	CodeNoProperty   diag.Code = "no-property" // a property that the state does not have
	CodeState        diag.Code = "state-value" // a value that no state can have
	CodeFluid        diag.Code = "fluid-value"
	CodeOutside      diag.Code = "outside-allowed"
	CodeLimits       diag.Code = "limits-reversed" // within hi .. lo
	CodeJump         diag.Code = "solve-jump"
	CodeFlat         diag.Code = "solve-any-value"
	CodeSign         diag.Code = "solve-no-sign-change"
	CodeEnd          diag.Code = "solve-extreme-at-end"
	CodeTrial        diag.Code = "solve-trial"
	CodeDiverge      diag.Code = "solve-no-convergence"
	CodeRuns         diag.Code = "limit-solve-steps"
	CodeFlow         diag.Code = "cycle-flow" // flows of a cycle that cannot be
	CodeCheck        diag.Code = "check-fails"
	CodeCaution      diag.Code = "caution"
	CodeTolerance    diag.Code = "tolerance"
	CodeAccept       diag.Code = "accept"
)
