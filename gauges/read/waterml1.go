package read

import (
	"encoding/xml"
	"html"
	"strings"
)

// waterml1 reads a response in WaterML 1.1, the older answer of the U.S. Geological Survey as XML. It says the same as that in JSON.
type waterml1 struct {
	source sourceInfo
	what   variable

	foreign            bool // of another network than that of the U.S. Geological Survey
	values             []point
	point              point
	at                 string // of the point, as it stands
	codes              *codes
	code, explained    string
	sensor, sensorName string
}

// startFirst begins an element of WaterML 1.
func (x *waterml2) startFirst(t xml.StartElement) {
	o := x.first
	switch t.Name.Local {
	case "timeSeries":
		*o = waterml1{codes: newCodes()}
	case "siteCode":
		o.source.SiteCode = append(o.source.SiteCode, struct{ Value text }{})
		network := attribute(t, "network")
		o.foreign = o.foreign || network != "" && !strings.HasPrefix(network, "NWIS")
	case "timeZoneInfo":
		o.source.TimeZoneInfo.SiteUsesDaylightSavingsTime = attribute(t, "siteUsesDaylightSavingsTime") == "true"
	case "defaultTimeZone":
		o.source.TimeZoneInfo.DefaultTimeZone.ZoneAbbreviation = attribute(t, "zoneAbbreviation")
	case "variableCode":
		o.what.VariableCode = append(o.what.VariableCode, struct{ Value text }{})
	case "option":
		o.what.Options.Option = append(o.what.Options.Option, struct {
			Name       string
			OptionCode text
		}{attribute(t, "name"), text(attribute(t, "optionCode"))})
	case "values":
		o.values, o.codes, o.sensor, o.sensorName = nil, newCodes(), "", ""
	case "value":
		o.point, o.at = point{codes: attribute(t, "qualifiers")}, attribute(t, "dateTime")
	case "qualifier":
		o.code, o.explained = "", ""
	case "method":
		o.sensor = attribute(t, "methodID")
	}
}

func (x *waterml2) textFirst(words string) {
	o := x.first
	parent := ""
	if len(x.path) > 1 {
		parent = x.path[len(x.path)-2]
	}
	switch name := x.path[len(x.path)-1]; name {
	case "siteName":
		o.source.SiteName += words
	case "siteCode":
		o.source.SiteCode[len(o.source.SiteCode)-1].Value += text(words)
	case "latitude", "longitude":
		if v, ok := number([]byte(words)); ok && parent == "geogLocation" {
			at := &o.source.GeoLocation.GeogLocation.Latitude
			if name == "longitude" {
				at = &o.source.GeoLocation.GeogLocation.Longitude
			}
			*at = &v
		}
	case "variableCode":
		o.what.VariableCode[len(o.what.VariableCode)-1].Value += text(words)
	case "variableName":
		o.what.VariableName += words
	case "unitCode":
		o.what.Unit.UnitCode += text(words)
	case "noDataValue":
		if v, ok := number([]byte(words)); ok {
			o.what.NoDataValue = &v
		}
	case "value":
		if parent == "values" {
			o.point.value += text(words)
		}
	case "qualifierCode":
		o.code += words
	case "qualifierDescription":
		o.explained += words
	case "methodDescription":
		o.sensorName += words
	}
}

func (x *waterml2) endFirst(name string) error {
	o := x.first
	switch name {
	case "value":
		w, ok := parseWall([]byte(o.at))
		if !ok {
			return x.wrongf(x.place(), "%q is no time as 2019-02-14T00:15:00.000-05:00", clip(o.at))
		}
		if len(o.values) >= x.most {
			return x.wrongf("", "holds more than %s readings; cut it into parts, by years", thousands(x.most))
		}
		o.point.at = w
		o.values = append(o.values, o.point)
	case "qualifier":
		o.codes.explain(o.code, o.explained)
	case "values":
		if o.foreign {
			return x.wrongf(x.place(), "it is WaterML 1 of another service than the U.S. Geological Survey, which is not known; fetch WaterML 2 or CSV")
		}
		return x.book.points(o.source, o.what, o.values, o.codes, o.sensor, html.UnescapeString(o.sensorName))
	}
	return nil
}
