package prose

import (
	"fmt"
	"math"
	"time"

	"rigtally/analytics/caution"
	"rigtally/internal/units"
	"rigtally/journal/gauge"
)

// CautionTitle says in short what was measured and what it calls for: "Water at
// 20.5 °C: many agencies ask to stop".
func CautionTitle(c caution.Caution, sys units.System) string {
	care, stop := "extra care", "agencies ask to stop"
	what := "Water at " + units.Format(units.Temperature, c.Value, sys)
	if c.Peak {
		what = "Water up to " + units.Format(units.Temperature, c.Value, sys) + " in the day"
	}
	switch c.Kind {
	case caution.Lightning:
		return "Thunder or lightning"
	case caution.RisingWater:
		care, stop, what = "rising water", "water rising fast", "The gauge rises"
		if c.From != nil {
			what = Capital(changed(c.From.Quantity, &c.Value, 6, sys))
		}
	case caution.HighWater:
		care, what = "high water to wade in", Capital(ForTheSeason(c.Value, c.From.Years))
		if c.From.Years == 0 {
			what = fmt.Sprintf("Higher than on this day in %.0f%% of years", math.Round(c.Value))
		}
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
	case caution.RisingWater:
		care, stop = "Rising water", "Water rising fast"
	case caution.HighWater:
		care, stop = "High water to wade in", "High water to wade in"
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
	case kind == caution.RisingWater && level == caution.Stop:
		return "Water that rises so fast is a reason to be out of it, on your own bank, while the way is open. Below a dam it can come within minutes, and a gauge shows it late. The dam’s operator, the flood and weather services, the rules of the water and a licensed guide who knows the place decide, not a number."
	case kind == caution.RisingWater:
		return "Rising water takes the footing and the way back. Keep a way out to your own bank, watch a mark at the edge, and leave when the water climbs or clouds. Below a dam it can come within minutes. The dam’s operator, the flood and weather services, the rules of the water and a licensed guide who knows the place decide, not a number."
	case kind == caution.HighWater:
		return "So much water runs here in one year of ten on this day of the year, or in fewer. A crossing that goes in most years may not go now, and the gauge knows neither the depth nor the speed where you would wade. The rules of the water, the dam’s operator and a licensed guide who knows the place decide, not a number."
	case level == caution.Stop:
		return fmt.Sprintf("At %s several agencies ask anglers to stop fishing for trout and salmon, which may not live through being caught. Some species need cooler limits, and a closure may be in force. Your fish and wildlife agency and the rules of the water decide.", stop)
	}
	return fmt.Sprintf("From %s one agency asks for extra care, and at %s to stop, for trout and salmon; others set cooler limits for some species. Play fish fast and keep them in the water, or leave them. Your fish and wildlife agency and the rules of the water decide.", care, stop)
}

// CautionFrom says by which gauge's reading a caution is given, in the time of the water; "" for what an angler noted.
func CautionFrom(c caution.Caution, in *time.Location) string {
	f := c.From
	if f == nil || f.Site == (gauge.Site{}) {
		return ""
	}
	what := "reading of " + f.At.In(in).Format("15:04")
	switch {
	case c.Peak:
		what = "warmest reading of the day"
	case f.WholeDay:
		what = "mean of the day"
	case f.Between:
		what = "two readings around " + f.At.In(in).Format("15:04")
	}
	return fmt.Sprintf("By the %s at the gauge %s. %s", what, fromGauge(*f), NotWhereYouStand)
}

// CautionSource says where a caution comes from.
func CautionSource(kind caution.Kind) string {
	switch kind {
	case caution.Lightning:
		return "U.S. National Weather Service’s advice of 30 seconds and 30 minutes, as given for Lightning Safety Week 2016."
	case caution.Wading:
		return "U.S. Geological Survey, National Field Manual, 10 ft²/s; Cox, Shand & Blacka 2010 on hazard to adults. Both numbers are quoted from memory."
	case caution.RisingWater:
		return fmt.Sprintf("Common practice, no source: within six hours %s more flow, or %s more stage, is rising; %s, or %s, is rising fast.", Percent(caution.RisingCareShare),
			bothUnits(caution.RisingCareM), Percent(caution.RisingStopShare), bothUnits(caution.RisingStopM))
	case caution.HighWater:
		return fmt.Sprintf("U.S. Geological Survey, classes of streamflow: much above normal begins above the %.0fth percentile of the day of the year. Quoted from memory.", caution.HighPercent)
	}
	return "Northern Ireland DAERA, “Angling in warm weather”; Natural Resources Wales; deaths of caught trout by temperature: Boyd, Guy, Horton & Leathe 2010."
}

// bothUnits prints a difference of stage for readers of either system.
func bothUnits(m float64) string {
	return units.Format(units.Depth, m, units.Metric) + " (" + units.Format(units.Depth, m, units.US) + ")"
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
	case t.Kind == caution.RisingWater && t.Stop == 0:
		return fmt.Sprintf("The gauge showed rising water in %s where it told.", of)
	case t.Kind == caution.RisingWater:
		return fmt.Sprintf("The gauge showed rising water in %s where it told, rising fast in %d.", of, t.Stop)
	case t.Kind == caution.HighWater:
		return fmt.Sprintf("The flow was among the highest tenth of its day of the year in %s where a gauge tells.", of)
	case t.Kind == caution.Wading:
		return fmt.Sprintf("Depth times speed of the water reached %s in %s where both were noted, and %s in %d.",
			units.FormatPerWidth(caution.WadingCareM2S, sys), of, units.FormatPerWidth(caution.WadingStopM2S, sys), t.Stop)
	}
	return fmt.Sprintf("The water was at %s or warmer in %s where it was measured, and at %s or warmer in %d.",
		units.Format(units.Temperature, caution.WarmCareC, sys), of, units.Format(units.Temperature, caution.WarmStopC, sys), t.Stop)
}
