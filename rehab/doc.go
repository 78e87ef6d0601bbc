// Package rehab is the trade: what an ankle is ready for, worked out from what was recorded.
//
// Everything here is a pure function or a plain value. The log of entries is the truth; Fold turns
// it into a State without looking at a clock, and Assess reads that state against a Protocol at one
// instant. Thresholds live in the protocol file, with their sources, not in this code.
//
// Nothing here decides. The package proposes and explains; a licensed clinician confirms, and local
// protocol comes first.
package rehab
