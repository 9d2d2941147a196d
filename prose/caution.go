package prose

import (
	"fmt"

	"rigtally/analytics/caution"
	"rigtally/internal/units"
)

// CautionTitle says in short what was measured and what it calls for: "Water at
// 20.5 °C: many agencies ask to stop".
func CautionTitle(c caution.Caution, sys units.System) string {
	care, stop := "extra care", "agencies ask to stop"
	what := "Water at " + units.Format(units.Temperature, c.Value, sys)
	switch c.Kind {
	case caution.Lightning:
		return "Thunder or lightning"
	case caution.Wading:
		care, stop = "no longer low hazard", "past a rule of thumb for wading"
		what = fmt.Sprintf("%s deep at %s", units.Format(units.Depth, *c.Given.DepthM, sys), units.Format(units.Speed, *c.Given.VelocityMS, sys))
	}
	if c.Level == caution.Stop {
		return what + ": " + stop
	}
	return what + ": " + care
}

// CautionHeading is CautionTitle before anything is measured.
func CautionHeading(kind caution.Kind, level caution.Level) string {
	care, stop := "Warm water: extra care", "Warm water: agencies ask to stop"
	switch kind {
	case caution.Lightning:
		return "Thunder or lightning"
	case caution.Wading:
		care, stop = "Depth times speed is past low hazard", "Depth times speed is past a rule of thumb for wading"
	}
	if level == caution.Stop {
		return stop
	}
	return care
}

// CautionText says what the source asks for, and who decides.
func CautionText(kind caution.Kind, level caution.Level, sys units.System) string {
	care, stop := units.Format(units.Temperature, caution.WarmCareC, sys), units.Format(units.Temperature, caution.WarmStopC, sys)
	switch {
	case kind == caution.Lightning:
		return "When thunder follows a flash within 30 seconds, leave the water for shelter, and stay there until 30 minutes after the last thunder. A rod conducts. The weather service’s warnings, the rules of the water and your licensed guide come before anything here."
	case kind == caution.Wading && level == caution.Stop:
		return fmt.Sprintf("The U.S. Geological Survey’s rule of thumb is not to wade where depth times speed reaches %s. Less is hazardous too, on a slick or steep bed, in cold water, alone. The rules of the water, the dam’s operator and a licensed guide who knows the place decide, not a number.", units.FormatPerWidth(caution.WadingStopM2S, sys))
	case kind == caution.Wading:
		return fmt.Sprintf("Reviews of people in flowing water no longer call it low hazard from about %s of depth times speed, which is below the %s at which the U.S. Geological Survey’s rule of thumb says not to wade. The rules of the water and a licensed guide who knows the place decide, not a number.",
			units.FormatPerWidth(caution.WadingCareM2S, sys), units.FormatPerWidth(caution.WadingStopM2S, sys))
	case level == caution.Stop:
		return fmt.Sprintf("At %s several agencies ask anglers to stop fishing for trout and salmon, which may not live through being caught. Some species need cooler limits, and a closure may be in force. Your fish and wildlife agency and the rules of the water decide.", stop)
	}
	return fmt.Sprintf("From %s one agency asks for extra care, and at %s to stop, for trout and salmon; others set cooler limits for some species. Play fish fast and keep them in the water, or leave them. Your fish and wildlife agency and the rules of the water decide.", care, stop)
}

// CautionSource says where a caution comes from.
func CautionSource(kind caution.Kind) string {
	switch kind {
	case caution.Lightning:
		return "U.S. National Weather Service’s advice of 30 seconds and 30 minutes, as given for Lightning Safety Week 2016."
	case caution.Wading:
		return "U.S. Geological Survey, National Field Manual, 10 ft²/s; Cox, Shand & Blacka 2010 on hazard to adults. Both numbers are quoted from memory."
	}
	return "Northern Ireland DAERA, “Angling in warm weather”; Natural Resources Wales; deaths of caught trout by temperature: Boyd, Guy, Horton & Leathe 2010."
}

// CautionTally says how often a season called for a caution, "" when nothing was known.
func CautionTally(t caution.Tally, sys units.System) string {
	of := fmt.Sprintf("%d of %s", t.Care+t.Stop, Several(t.Known, "session"))
	switch {
	case t.Of == 0 || t.Known == 0:
		return ""
	case t.Kind == caution.Lightning && t.Stop == 0:
		return ""
	case t.Kind == caution.Lightning:
		return fmt.Sprintf("A storm was noted in %d of %s.", t.Stop, Several(t.Of, "session"))
	case t.Kind == caution.Wading:
		return fmt.Sprintf("Depth times speed of the water reached %s in %s where both were noted, and %s in %d.",
			units.FormatPerWidth(caution.WadingCareM2S, sys), of, units.FormatPerWidth(caution.WadingStopM2S, sys), t.Stop)
	}
	return fmt.Sprintf("The water was at %s or warmer in %s where it was measured, and at %s or warmer in %d.",
		units.Format(units.Temperature, caution.WarmCareC, sys), of, units.Format(units.Temperature, caution.WarmStopC, sys), t.Stop)
}
