// Package trend is the statistics of a wheel's wear log: how fast a wheel wears, how well that is known, and when a diameter that was
// measured once can no longer be relied on.
//
// [Fit] is the one least squares: any model that is linear in its coefficients, with everything that can be asked of it. [Line] is its
// simplest case, [Wear] the one it is made for: a common rate and a step for each dressing. [Band] is what both are read ahead with, a
// straight line between the two curves of its prediction interval. [TheilSen] is the other route to a rate, which one wrong measurement
// does not move.
//
// Formulas are those of NIST/SEMATECH, e-Handbook of Statistical Methods, 4.4.3.1 and 4.5.1.2, unless another source is named.
package trend
