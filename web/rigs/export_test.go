package rigs

// What tests of the pages need of the package.
var (
	FreeName = freeName
	FillRig  = fillRig
	ReadRig  = readRig
)
