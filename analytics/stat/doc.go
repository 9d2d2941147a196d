// Package stat computes rates, shares and amounts per unit of exposure, their
// uncertainty and their comparison, from sums over independent clusters.
package stat
