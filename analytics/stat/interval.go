package stat

// Interval is a confidence interval, both ends included. High is +Inf only
// where the data set no upper limit: for the ratio to a group without events,
// and for amounts in clusters too few or too alike to show how they differ.
type Interval struct {
	Low, High float64
}

// Within reports whether the whole interval lies between low and high.
func (i Interval) Within(low, high float64) bool { return i.Low >= low && i.High <= high }

// RateInterval is the exact interval for a Poisson rate with k events in
// exposure t, in events per unit of exposure (Garwood 1936, Biometrika 28:437):
//
//	low = χ²(α/2; 2k)/2t, 0 when k = 0;   high = χ²(1 − α/2; 2k + 2)/2t
//
// k need not be whole: for scattered counts k and t are effective ones
// (Dispersion.Effective). Conf is the confidence level, such as 0.95. An
// exposure of 0 is ErrNoExposure.
func RateInterval(k, t, conf float64) (Interval, error) {
	if err := CheckProbability("confidence level", conf); err != nil {
		return Interval{}, err
	}
	if err := CheckEvents(k, t); err != nil {
		return Interval{}, err
	}
	tail := (1 - conf) / 2
	i := Interval{High: gammaUpper(tail, k+1) / t}
	if k > 0 {
		i.Low = gammaLower(tail, k) / t
	}
	return i, nil
}

// ShareInterval is the exact interval for the probability of an event with k
// events in n trials (Clopper & Pearson 1934, Biometrika 26:404), through beta
// quantiles, which take real counts:
//
//	low = B(α/2; k, n − k + 1), 0 when k = 0
//	high = B(1 − α/2; k + 1, n − k), 1 when k = n
//
// On effective counts it is the interval of Korn & Graubard (1998, Survey
// Methodology 24:193). No trials are ErrNoExposure.
func ShareInterval(k, n, conf float64) (Interval, error) {
	if err := CheckProbability("confidence level", conf); err != nil {
		return Interval{}, err
	}
	if err := CheckTrials(k, n); err != nil {
		return Interval{}, err
	}
	tail := (1 - conf) / 2
	rest := max(0, n-k)
	i := Interval{High: 1}
	if k > 0 {
		i.Low = betaLower(tail, k, rest+1)
	}
	if rest > 0 {
		i.High = betaLower(1-tail, k+1, rest)
	}
	return i, nil
}
