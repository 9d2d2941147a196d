package claims

// ClaimQuestion is what tests of the pages need of the package.
var ClaimQuestion = claimQuestion
