// Package outlook says when an ankle will be back: a distribution, not a date.
//
// # The model
//
// The time T that a stage takes, in whole days from 0, is negative binomial with size r and
// probability p: P(T = k) = Γ(k + r) / (Γ(r) k!) · p^r · (1 − p)^k. Here r is the stage's share of the
// course's size, times the grade's multiplier; p is the pace of the club. Given p stage times are
// independent, so those of several stages add up to one negative binomial with the sum of the sizes.
// On a course with odds c the odds (1 − p)/p are c times as long. Clubs differ: p ~ Beta(a, b).
//
// The process is semi-Markov: what is left of a stage depends on the days already put into it,
// P(T = d + k | T ≥ d). The size of a single stage is mostly below 1, and then the longer an ankle
// has been in it, the longer it will still be there. A stage left by a set-back keeps its days, to which it
// goes on adding when it is taken up again; the stages before it are done anew. That makes a set-back
// never good news, which a fresh start of the stage would sometimes be. Set-backs still to come are
// foreseen only as far as the published figures contain them, and healing floors, which warn and do
// not lock, not at all. Days under a hold are in no stage, and while a hold stands the outlook counts
// from the day it is lifted.
//
// # Learning
//
// A finished stage of t days on a course with odds 1 turns Beta(a, b) into Beta(a + r, b + t). A stage
// that is not finished after d days contributes P(T ≥ d | p), the regularised incomplete beta function
// I(1−p; d, r), and a course with other odds its own likelihood: neither is conjugate. So the
// posterior is kept as weights on a grid over x = log(p / (1 − p)), equally spaced over all of x where
// it is more than e^−40 of its peak. The integrand is analytic about the real line and vanishes at both
// ends, so the trapezoid rule converges geometrically: for a posterior of standard deviation s in x and
// a step h its error is about 2·exp(−2π²s²/h²) (from memory, unverified: Trefethen & Weideman), which
// for the step used, at most s for a club of a thousand episodes, is 5e-9 and for one of a hundred
// nothing but rounding. Tests hold it against the conjugate form, against Gauss–Legendre quadrature and
// against a finer grid: 1e-9.
//
// # What the prior stands on
//
// Sizes and odds are fitted to one population's published quartiles of days from injury to return.
// Those are days of time lost to return, through all that happened on the way, of athletes of whom some
// were treated elsewhere and by no stages at all; that each stage takes its share of them is
// common practice, and so are the multipliers of the grades and how much clubs differ. Until a club
// has finished stages of its own the outlook is theirs, and should say so.
package outlook
