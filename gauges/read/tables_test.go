package read

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"strings"
	"testing"
	"time"

	"golang.org/x/text/encoding/unicode"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// The shapes in which people and loggers write tables. Where no source is named the shape is one that spreadsheets make; values and
// names are invented in all of them.
var tables = []struct{ what, text, want string }{
	{"months by name, as spreadsheets show dates", "Date,Flow (m3/s)\n02-May-2012,1\n03-May-2012,2\n", `mine:1 flow "" "daily mean": 2012-05-02=1 2012-05-03=2`},
	{"the month first", "Date,Flow (m3/s)\n\"May 2, 2012\",1\n\"September 3rd, 2012\",2\n\"Sept. 4, 2012\",3\n", `"daily mean": 2012-05-02=1 2012-09-03=2 2012-09-04=3`},
	{"with a time", "Date,Flow (m3/s)\n\"May 2, 2012 3:15 PM\",1\n2 May 2012 17:00,2\n", `"": 2012-05-02T21:15Z=1 2012-05-02T23:00Z=2`},
	{"with the day of the week", "Date,Flow (m3/s)\n\"Wed, May 2, 2012\",1\nThursday 3 May 2012,2\nMar 4 Mai 2012,3\n", `"daily mean": 2012-05-02=1 2012-05-03=2 2012-05-04=3`},
	{"months in French", "Date;Débit (m³/s)\n2 mai 2012;1,5\n3 août 2012;1,6\n4 déc. 2012;1,7\n", `"daily mean": 2012-05-02=1.5 2012-08-03=1.6 2012-12-04=1.7`},
	{"months by name, years with two digits", "Date,Flow (m3/s)\n02-May-12,1\n03-May-98,2\n", `"daily mean": 1998-05-03=2 2012-05-02=1` + "\nnote Years with two digits, as in 02-May-12, are taken for those from 1998 to 2012."},
	{"years with two digits", "Date,Flow (m3/s)\n5/13/24 10:00,1\n", `2024-05-13T16:00Z=1` + "\nnote Dates such as 5/13/24 10:00 are read with the month first, by line 2.\nnote Years with two digits, as in 5/13/24 10:00, are taken for 2024."},
	{"years with two digits, told by the step to the next day", "Date,Flow (m3/s)\n11/12/15 23:45,1\n11/13/15 00:00,2\n", `2015-11-13T06:45Z=1 2015-11-13T07:00Z=2`},
	{"years with two digits that come first", "Date,Flow (m3/s)\n99-05-13 10:00,1\n99-05-13 10:15,2\n", `1999-05-13T16:00Z=1 1999-05-13T16:15Z=2`},
	{"no marks in dates", "time,Flow (m3/s)\n20240502,1\n20240503,2\n", `"daily mean": 2024-05-02=1 2024-05-03=2`},
	{"no marks in times, as the Californian exchange writes them", "DATE TIME,FLOW (CMS)\n20240502 1000,1\n20240502T1015,2\n202405021030,3\n20240502104500Z,4\n", `2024-05-02T10:45Z=4 2024-05-02T16:00Z=1 2024-05-02T16:15Z=2 2024-05-02T16:30Z=3`},
	{"counted from 1970", "timestamp,Flow (m3/s)\n1714644000,1\n1714644900,2\n", `2024-05-02T10:00Z=1 2024-05-02T10:15Z=2`},
	{"counted in thousandths", "timestamp,Flow (m3/s)\n1714644000000,1\n", `2024-05-02T10:00Z=1`},
	{"a date, a comma and a time, as browsers write them", "Time,Flow (m3/s)\n\"5/13/2024, 1:00:00 PM\",1\n", `2024-05-13T19:00Z=1`},
	{"hours without a mark", "Date,Time,Flow (m3/s)\n2024-05-02,0000,1\n2024-05-02,0015,2\n", `2024-05-02T06:00Z=1 2024-05-02T06:15Z=2`},

	{"a logger for streams: a title, the offset in the name, years with two digits", "\"Plot Title: Nowhere\"\n\"#\",\"Date Time, GMT-07:00\",\"Temp, °C (LGR S/N: 1, SEN S/N: 1)\",\"End Of File (LGR S/N: 1)\"\n1,05/13/24 10:00:00 AM,10.5,\n2,05/13/24 10:15:00 AM,,Logged\n",
		`mine:1 temperature "" "": 2024-05-13T17:00Z=10.5`},
	{"the same, in French", "\"Titre de tracé : ZZ\"\n\"#\",\"Date Heure, GMT-04:00\",\"Temp., °C (LGR S/N: 1)\"\n1,11/12/15 23:30:00,5\n2,11/13/15 00:00:00,6\n", `2015-11-13T03:30Z=5 2015-11-13T04:00Z=6`},
	{"a newer one, whose zone has two names", "#,Date-Time (MST/MDT),\"Ch: 1 - Temperature   (°F)\",Button Down\n1,05/13/2024 10:00:00,50,\n", `2024-05-13T16:00Z=10`},
	{"offset in the name", "Time (UTC+1),Flow (m3/s)\n2024-07-02 10:00,1\n", `2024-07-02T09:00Z=1` + "\nnote Times are read as +01:00 from UTC, as the name of their column says."},
	{"abbreviation in the name", "Time (EST),Flow (m3/s)\n2024-07-02 10:00,1\n", `2024-07-02T15:00Z=1`},
	{"French for UTC, as HydroPortail writes it", "\"Date (TU)\";\"Valeur (en m³/s)\";\"Statut\"\n\"2020-07-01 10:00\";\"1.5\";\"16\"\n", `mine:1 flow "" "": 2020-07-01T10:00Z=1.5`},
	{"a column of zones", "Date,Time,TZ,Flow (m3/s)\n2024-11-03,01:30,EDT,1\n2024-11-03,01:30,EST,2\n2024-11-03,10:00,-6,3\n", `2024-11-03T05:30Z=1 2024-11-03T06:30Z=2 2024-11-03T16:00Z=3`},
	{"the parts of a date in columns of their own", "Year,Month,Day,Q (m3/s)\n2024,5,2,1.5\n2024,5,13,2.5\n", `"daily mean": 2024-05-02=1.5 2024-05-13=2.5`},
	{"a year of water beside the date", "Date,Year,Month,Day,Q (m3/s)\n2023-10-02,2024,10,2,1\n", `"daily mean": 2023-10-02=1`},
	{"the parts of a time", "year;month;day;hour;minute;Q (m3/s)\n2024;5;2;9;5;1,5\n", `"": 2024-05-02T15:05Z=1.5`},
	{"the day of the week beside the date", "Day,Date,Time,Gage ht (ft)\nThu,2024-05-02,10:00,10\n", `stage "" "": 2024-05-02T16:00Z=3.048`},
	{"the export of the world's runoff data centre", "# Invented\n# Time series\nYYYY-MM-DD;hh:mm; Value (m3/s)\n2024-05-02;--:--;   12.345\n2024-05-03;--:--;   -999.000\n", `"daily mean": 2024-05-02=12.345 2024-05-03=NaN(no value)`},
	{"whole hours", "Date,Hour,Flow (m3/s)\n2024-05-02,9,1\n2024-05-02,10,2\n", `2024-05-02T15:00Z=1 2024-05-02T16:00Z=2`},
	{"halves of the day with points", "Date,Flow (m3/s)\n14/05/2024 12:30:00 a.m.,1\n14/05/2024 1:00 p.m.,2\n", `2024-05-14T06:30Z=1 2024-05-14T19:00Z=2`},
	{"times of the engineers' hydrologic tools", "Time,Flow (m3/s)\n\"02May2012, 1015\",1\n02MAY2012 10:30,2\n", `2012-05-02T16:15Z=1 2012-05-02T16:30Z=2`},
	{"a title with the words of names", "Flow data, made on a date in June\nDate,Flow (m3/s)\n2024-05-02,1\n", `2024-05-02=1` + "\n"},
	{"two columns by one name, and some that are of no reading", "Time,Temp (C),Temp (C),Flow change (m3/s),Median flow (m3/s)\n2024-05-02 10:00,1,2,3,4\n", `temperature "Temp (C), column 3" "": 2024-05-02T16:00Z=2`},
	{"a time by another name", "Observed UTC,Stage (ft),Flow (kcfs)\n2024-05-02 10:00,10,1\n", `mine:1 stage "" "": 2024-05-02T10:00Z=3.048` + "\n" + `mine:1 flow "" "": 2024-05-02T10:00Z=28.3168`},

	{"titles above", "Flow of Invented Creek\nMade 2024-06-01, from 2012\n\nTime,Flow (m3/s)\n2024-05-02 10:00,1\n", `2024-05-02T16:00Z=1` + "\nnote The table begins in line 4; what stands above it is left out."},
	{"titles in as many cells", "Flow of Invented Creek,,\nStation:,1234,\n,,\nTime,Flow (m3/s),Note\n2024-05-02 10:00,1,\n", `2024-05-02T16:00Z=1`},
	{"titles above names with a comma in quotes", "\"Plot of Nowhere\",\"made, by hand\"\n\"Date Time, GMT-07:00\",\"Reading, °C\"\n2024-05-02 10:00,9\n", ""},
	{"no names below titles, as the British archive writes days", "file,timestamp,2024-01-01T00:00:00\nstation,id,99999\ndataType,units,m3/s\ndata,first,1999-10-01\n1999-10-01,1.5,\n1999-10-02,1.6,\n", ""},
	{"units below the names", "Time,Flow,Temp\n,m3/s,degF\n2024-05-02 10:00,1,50\n", `mine:1 temperature "" "": 2024-05-02T16:00Z=10`},
	{"a separator in a name", "Date,\"Flow (m3/s; mean of the day)\"\n2024-05-02,1\n", `flow "" "daily mean": 2024-05-02=1`},
	{"a unit in words", "Date,Flow cubic feet per second,Snow water level (mm)\n2024-05-02,100,7\n", `flow "" "daily mean": 2024-05-02=2.83168` + "\nnote Left out, since only flow, stage and water temperature are taken: Snow water level (mm)."},
	{"an offset in the name of days", "Date (EST),Flow (m3/s)\n2024-05-02,1\n", `flow "" "daily mean": 2024-05-02=1` + "\n"},
	{"a unit in each row is none of those", "Time,Flow (m3/s),Unit\n2024-05-02 10:00,1,m3/s\n", `2024-05-02T16:00Z=1`},
	{"widths below the names", "datetime,X_00060_00003,X_00060_00003_cd,X_00010_00001\n20d,14n,10s,14n\n2024-05-02,100,A e,20\n", `mine:1 flow "" "daily mean": 2024-05-02=2.83168(estimated)` + "\nnote Left out, since only flow, stage and water temperature are taken: X_00010_00001."},
	{"how dataRetrieval writes it", "\"\",\"agency_cd\",\"site_no\",\"dateTime\",\"X_00060_00000\",\"X_00060_00000_cd\",\"tz_cd\"\n\"1\",\"USGS\",\"09999901\",2024-05-02 10:00:00,100,\"P\",\"UTC\"\n", `usgs:09999901 flow "" "": 2024-05-02T10:00Z=2.83168(provisional)`},
	{"tables of Python, numbers of parameters alone", "datetime,site_no,00060,00060_cd\n2024-05-02 10:00:00+00:00,09999901,100.0,A\n", `mine:1 flow "" "": 2024-05-02T10:00Z=2.83168`},
	{"UTC behind another word", "datetimeUTC,USGS:09999901:00060:00000\n2024-05-02T10:00:00,100.0\n", `mine:1 flow "" "": 2024-05-02T10:00Z=2.83168`},
	{"times in a column without a name", ",Flow (m3/s)\n2024-05-02,1\n", `flow "" "daily mean": 2024-05-02=1`},
	{"names over lines", "Time,\"Flow\n(m3/s)\"\n2024-05-02 10:00,1\n", `2024-05-02T16:00Z=1`},
	{"notes over lines", "Time,Flow (m3/s),Note\n2024-05-02 10:00,1,\"high,\nand rising\"\n2024-05-02 10:15,2,\n", `2024-05-02T16:00Z=1 2024-05-02T16:15Z=2`},
	{"sums below", "Date,Flow (m3/s)\n2024-05-02,1\n2024-05-03,3\n\nMean,2\nTotal:,4\n", `2024-05-02=1 2024-05-03=3` + "\nnote Rows that sum up others are left out: mean, total."},
	{"empty rows, and a comma too many", "Time,Flow (m3/s)\n,\n2024-05-02 10:00,1,\n,,\n", `2024-05-02T16:00Z=1`},
	{"the separator in a line of its own", "sep=;\nDate;Flow (m3/s)\n2024-05-02;1,5\n", `2024-05-02=1.5`},
	{"bars between cells", "Date|Flow (m3/s)\n2024-05-02|1.5\n", `2024-05-02=1.5`},
	{"lines of old Macs", "Time,Flow (m3/s)\r2024-05-02 10:00,1\r2024-05-02 10:15,2\r", `2024-05-02T16:00Z=1 2024-05-02T16:15Z=2`},
	{"several values for one time", "Time,Flow (m3/s)\n2024-05-02 10:00,1\n2024-05-02 10:00,2\n2024-05-02 10:00,2\n", `2024-05-02T16:00Z=2` + "\nnote Of several values for one time the last is taken: 1 of flow, the first at 2024-05-02 16:00 UTC."},

	{"thousands with commas", "Time,Flow (m3/s)\n2024-05-02 10:00,\"1,500\"\n2024-05-02 10:15,900\n", `2024-05-02T16:00Z=1500 2024-05-02T16:15Z=900` + "\nnote Numbers such as 1,500 are read as thousands."},
	{"thousands with commas, told by a point", "Time\tFlow (m3/s)\n2024-05-02 10:00\t1,500\n2024-05-02 10:15\t900.5\n", `2024-05-02T16:00Z=1500 2024-05-02T16:15Z=900.5`},
	{"three decimals with commas", "Time;Stage (m)\n2024-05-02 10:00;1,250\n2024-05-02 10:15;1,001\n", `2024-05-02T16:00Z=1.25 2024-05-02T16:15Z=1.001`},
	{"three decimals with commas, told by a zero", "Time\tStage (m)\n2024-05-02 10:00\t1,250\n2024-05-02 10:15\t0,125\n", `2024-05-02T16:00Z=1.25 2024-05-02T16:15Z=0.125`},
	{"thousands with points", "Time;Flow (l/s)\n2024-05-02 10:00;1.500,5\n2024-05-02 10:15;2.500\n", `2024-05-02T16:00Z=1.5005 2024-05-02T16:15Z=2.5`},
	{"thousands with spaces", "Time;Flow (l/s)\n2024-05-02 10:00;1\u202f500,5\n2024-05-02 10:15;1\u00a0600\n2024-05-02 10:30;1 700\n2024-05-02 10:45;1'800\n", `2024-05-02T16:00Z=1.5005 2024-05-02T16:15Z=1.6 2024-05-02T16:30Z=1.7 2024-05-02T16:45Z=1.8`},
	{"thousands with spaces, in an older set of characters", "Time;Flow (l/s)\n2024-05-02 10:00;1\xa0500\n", `2024-05-02T16:00Z=1.5`},
	{"three decimals with commas beside whole numbers", "Time;Stage (m);Flow (m3/s)\n2024-05-02 10:00;1,250;12\n", `2024-05-02T16:00Z=1.25`},
	{"three decimals with commas, told by a thousand without a mark", "Time;Flow (m3/s)\n2024-05-02 10:00;1,250\n2024-05-02 10:15;1000\n", `2024-05-02T16:00Z=1.25 2024-05-02T16:15Z=1000`},
	{"three decimals with points", "Time,Stage (m)\n2024-05-02 10:00,1.250\n2024-05-02 10:15,2\n", `2024-05-02T16:00Z=1.25 2024-05-02T16:15Z=2`},
	{"a minus as printers have it, and dashes for nothing", "Date;Stage (m)\n2024-05-02;−0.5\n2024-05-03;–\n2024-05-04;---\n", `: 2024-05-02=-0.5` + "\n"},
	{"a unit with a point", "date,Q.m3s\n2024-05-02,1.5\n", `flow "" "daily mean": 2024-05-02=1.5`},
	{"units of waterworks", "date,Flow (MGD)\n2024-05-02,100\n", `2024-05-02=4.38126`},
	{"words of quality", "Time,Flow (m3/s),Quality\n2024-05-02 10:00,1,bad\n2024-05-02 10:15,2,invalid\n2024-05-02 10:30,3,valid\n2024-05-02 10:45,4,Unapproved\n", `2024-05-02T16:00Z=1(suspect) 2024-05-02T16:15Z=2(suspect) 2024-05-02T16:30Z=3 2024-05-02T16:45Z=4(provisional)`},
	{"the archive of flood monitoring, with several values for one time", "dateTime,measure,value\n2024-05-02T10:00:00Z,http://x/id/measures/9999TH-level-stage-i-15_min-mASD,0.5\n2024-05-02T10:15:00Z,http://x/id/measures/9999TH-level-stage-i-15_min-mASD,0.5|0.6\n", `ea:9999TH stage "" "": 2024-05-02T10:00Z=0.5(provisional) 2024-05-02T10:15Z=NaN(provisional,no value)`},
	{"CSV of the Water Data service, saved by a spreadsheet that takes zeros off", "monitoring_location_id,parameter_code,statistic_id,time,value,unit_of_measure,approval_status,qualifier\nUSGS-09999901,60,11,2025-05-02T10:00:00+00:00,100,ft^3/s,Approved,\n", `usgs:09999901 flow "" "": 2025-05-02T10:00Z=2.83168`},
	{"the same with the commas of a spreadsheet", "monitoring_location_id;parameter_code;time;value;unit_of_measure;approval_status\nUSGS-09999901;00060;2025-05-02T10:00:00Z;1,5;m3/s;Approved\n", `usgs:09999901 flow "" "": 2025-05-02T10:00Z=1.5` + "\n"},
	{"GeoJSON with the qualifiers of a list as a text", `{"features":[{"properties":{"monitoring_location_id":"USGS-09999901","parameter_code":"00065","time":"2025-05-02T10:00:00Z","value":"10","unit_of_measure":"ft","approval_status":"Approved","qualifier":"['ESTIMATED', 'ICE']"}}]}`, `2025-05-02T10:00Z=3.048(estimated,ice)`},
	{"tab-delimited with what old files have for no value", rdbHead + rdbRow("2024-05-02 10:00", "EDT", "-123456E20", "P"), `2024-05-02T14:00Z=NaN(provisional,no value)`},
	{"the water below a lock, beside that above", "dateTime,measure,value\n2024-05-02T10:00:00Z,http://x/9999TH-level-downstage-i-15_min-mASD,0.5\n2024-05-02T10:00:00Z,http://x/9999TH-level-stage-i-15_min-mASD,0.7\n", "note ea:9999TH measures stage with 2 sensors: downstage, one without a name."},
	{"tab-delimited, with the beginning of its comments gone", "ived: 2024-05-02\n# invented\n" + rdbHead + rdbRow("2024-05-02 10:00", "EDT", "100", "P"), `usgs:09999901 flow "" "": 2024-05-02T14:00Z=2.83168(provisional)`},
}

func TestTables(t *testing.T) {
	t.Parallel()
	for _, c := range tables {
		found, err := Any("F", strings.NewReader(c.text), tableOptions(t))
		if c.want == "" {
			if !Unsaid(err) || strings.Contains(err.Error(), "line 1:") {
				t.Errorf("%s: %v", c.what, err)
			}
			continue
		}
		if err != nil || !strings.Contains(told(found), c.want) {
			t.Errorf("%s: %v\n%swant %s", c.what, err, told(found), c.want)
		}
	}
}

func tableOptions(t *testing.T) Options {
	zone, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	return Options{Site: gauge.Site{Provider: "mine", Number: "1"}, Zone: zone, Now: now}
}

// TestTablesRefused holds what is said of tables that nobody can read without guessing.
func TestTablesRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ text, want string }{
		{"Time\tFlow (cfs)\n2024-05-02 10:00\t1,500\n2024-05-02 10:15\t900\n", `F, line 2, column Flow (cfs): "1,500" may be 1.500 or 1500; write all numbers of the column with as many decimals, or none with a mark for thousands`},
		{"Time;Flow (l/s)\n2024-05-02 10:00;1.500\n2024-05-02 10:15;900\n", `F, line 2, column Flow (l/s): "1.500" may be 1.500 or 1500`},
		{"Date,Flow (cfs)\n2024-05-02,\"1,110\"\n2024-05-03,1200\n", `F, line 2, column Flow (cfs): "1,110" may be 1.110 or 1110`},
		{"Time,Flow (m3/s),Unit\n,,m3/s\n", "F, line 2, column Time: there is no time beside the values"},
		{"Date,Flow (cfs)\n45414.5,100\n", `F, line 2, column Date: "45414.5" is how a spreadsheet counts days; show the column as dates`},
		{"Date,Flow (cfs)\n2024-05-02,100\n,110\n", "F, line 3, column Date: there is no time beside the values; take the row out, or write its time"},
		{"Date,Flow (cfs)\n01/02/25,100\n01/02/26,100\n", `nothing there says whether "01/02/25" has the month or the day first`},
		{"Date,Flow (cfs)\n05/13/26,100\n05/14/27,100\n", "F, line 3: its year has two digits, and would be 1927 after 2026; write years with four"},
		{"Date,Flow (cfs)\n2 jui 2012,100\n", `F, line 2, column Date: "2 jui 2012" is no time as`},
		{"Time,TZ,Flow (cfs)\n2024-05-02 10:00,America/Chicago,100\n", `F, line 2, column TZ: "America/Chicago" is no time zone that is known`},
		{"Time,Station,Flow (cfs)\n2024-05-02 10:00,A,1\n2024-05-02 10:00,B,2\n", `F, line 3, column Station: it is "B", and in line 2 "A"; a table holds the readings of one gauge`},
		{"time,left,right\n2024-05-02 10:00,1,2\n", "nothing there says whether the values are"},
		{"Date Flow_cfs\n2024-05-02 100\n", "F, line 1: there is one column, and a table needs two"},
		{"agency_cd\tsite_no\tpeak_dt\tpeak_va\n5s\t15s\t10d\t8s\n", "this one is of the highest flow of each year, and not of readings"},
		{"agency_cd\tsite_no\tparameter_cd\tmonth_nd\tday_nd\tmean_va\n5s\t15s\t5s\t3n\t3n\t12n\n", "this one is of statistics over years, and not of readings"},
	} {
		_, err := Any("F", strings.NewReader(c.text), tableOptions(t))
		var invalid *journal.Invalid
		if !errors.As(err, &invalid) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%.60q: %v\nwant %s", c.text, err, c.want)
		}
	}
	opt := tableOptions(t)
	opt.Quantity, opt.Unit = gauge.Stage, "m"
	if _, err := Any("F", strings.NewReader("time,site 1,site 2\n2024-05-02 10:00,1,2\n2024-05-02 10:15,2,3\n"), opt); err == nil || !strings.Contains(err.Error(), "whether the values are in site 1 or in site 2") {
		t.Errorf("two sites side by side: %v", err)
	}
	if _, err := Any("F", strings.NewReader("time,left,right\n2024-05-02 10:00,1,2\n"), opt); err == nil || !strings.Contains(err.Error(), "whether the values are in left or in right; name the column of them value") {
		t.Errorf("two columns: %v", err)
	}
}

// TestPacked reads what is packed or written in wide characters, within the limits of what comes out.
func TestPacked(t *testing.T) {
	t.Parallel()
	const text = "Time,Flow (m³/s)\n2024-05-02 10:00,1.5\n"
	gz := func(text string) string {
		var b bytes.Buffer
		w := gzip.NewWriter(&b)
		_, _ = w.Write([]byte(text))
		_ = w.Close()
		return b.String()
	}
	archive := func(files ...string) string {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		for _, name := range files {
			f, err := w.Create(name)
			if err != nil {
				t.Fatal(err)
			}
			_, _ = f.Write([]byte(text))
		}
		_ = w.Close()
		return b.String()
	}
	wide := func(order unicode.Endianness, mark unicode.BOMPolicy, text string) string {
		s, err := unicode.UTF16(order, mark).NewEncoder().String(text)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	const xml = `<?xml version="1.0" encoding="UTF-16"?><wml2:Collection xmlns:wml2="w"/>`
	big := gz("Time,Flow (m³/s)\n" + strings.Repeat("2024-05-02 10:00,1.5\n", 10_000))
	damaged := []byte(gz(text))
	damaged[len(damaged)-6] ^= 1
	for _, c := range []struct{ what, text, want string }{
		{"gzip", gz(text), ""},
		{"gzip of UTF-16", gz(wide(unicode.LittleEndian, unicode.UseBOM, text)), ""},
		{"zip", archive("__MACOSX/._a.csv", "a.csv"), ""},
		{"UTF-16", wide(unicode.LittleEndian, unicode.UseBOM, text), ""},
		{"UTF-16, the other way", wide(unicode.BigEndian, unicode.UseBOM, text), ""},
		{"UTF-16 without a mark", wide(unicode.LittleEndian, unicode.IgnoreBOM, text), ""},
		{"UTF-16 without a mark, the other way", wide(unicode.BigEndian, unicode.IgnoreBOM, text), ""},
		{"XML in UTF-16", wide(unicode.LittleEndian, unicode.UseBOM, xml), "holds no readings"},
		{"gzip, cut", gz(text)[:40], "it ends in the middle, so it was cut off"},
		{"gzip, damaged", string(damaged), "it can't be understood there (gzip: invalid checksum)"},
		{"gzip of gzip", gz(gz(text)), "F holds a packed file in a packed file; unpack it first"},
		{"gzip of much", big, "F is larger than 200,000 bytes once it is unpacked; cut it into parts, by years"},
		{"zip of two", archive("a.csv", "b.csv"), "F is a zip archive of 2 files; unpack it, and bring in those with readings one by one"},
		{"zip, cut", archive("a.csv")[:60], "F is a workbook or a zip archive that is cut off or damaged"},
		{"zip of very many", archive(strings.Fields(strings.Repeat("a.csv ", mostPacked+1))...), "F is a zip archive of 1,001 files; unpack it"},
		{"workbook", archive("[Content_Types].xml", "xl/workbook.xml"), "F is a workbook, not readings; save its sheet as CSV"},
	} {
		opt := tableOptions(t)
		opt.MaxBytes = 200_000
		found, err := Any("F", strings.NewReader(c.text), opt)
		switch {
		case c.want == "" && (err != nil || !strings.Contains(told(found), "2024-05-02T16:00Z=1.5")):
			t.Errorf("%s: %v %s", c.what, err, told(found))
		case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) && !strings.Contains(told(found), c.want):
			t.Errorf("%s: %v %s, want %s", c.what, err, told(found), c.want)
		}
	}
}
