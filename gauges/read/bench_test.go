package read

import (
	"bytes"
	"fmt"
	"io"
	"testing"
	"time"

	"rigtally/journal/gauge"
)

// manyRows is a year and more of a gauge every quarter of an hour, invented, in the tab-delimited form.
func manyRows(n int) []byte {
	var b bytes.Buffer
	b.WriteString("# invented\nagency_cd\tsite_no\tdatetime\ttz_cd\t121787_00060\t121787_00060_cd\n5s\t15s\t20d\t6s\t14n\t10s\n")
	at := time.Date(1996, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range n {
		fmt.Fprintf(&b, "USGS\t09999901\t%s\tMST\t%d.%d\tA\n", at.Add(time.Duration(i)*15*time.Minute).Format("2006-01-02 15:04"), 100+i%997, i%10)
	}
	return b.Bytes()
}

func BenchmarkRdb(b *testing.B) {
	const rows = 1_000_000
	text := manyRows(rows)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		found, err := Any("many.rdb", bytes.NewReader(text), Options{})
		if err != nil || len(found.Series[0].Readings) != rows {
			b.Fatal(len(found.Series), err)
		}
	}
	b.ReportMetric(rows*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}

func BenchmarkOGC(b *testing.B) {
	const rows = 50_000
	var text bytes.Buffer
	text.WriteString(`{"type":"FeatureCollection","features":[`)
	at := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range rows {
		if i > 0 {
			text.WriteByte(',')
		}
		fmt.Fprintf(&text, `{"type":"Feature","id":"%d","geometry":null,"properties":{"time_series_id":"aaaa","monitoring_location_id":"USGS-09999901","parameter_code":"00060","statistic_id":"00011","time":"%s","value":"%d","unit_of_measure":"ft^3/s","approval_status":"Approved","qualifier":null}}`, i, at.Add(time.Duration(i)*15*time.Minute).Format(time.RFC3339), 100+i%997)
	}
	io.WriteString(&text, "]}")
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := OGC(bytes.NewReader(text.Bytes()), Options{Now: at.AddDate(9, 0, 0)}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(rows*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}

// BenchmarkTable reads times and values as anybody writes them; each value may have a mark for its thousands or for its decimals.
func BenchmarkTable(b *testing.B) {
	const rows = 1_000_000
	at := time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC)
	var text bytes.Buffer
	text.WriteString("time,flow (m³/s)\n")
	for i := range rows {
		fmt.Fprintf(&text, "%s,%d.%03d\n", at.Add(time.Duration(i)*15*time.Minute).Format(time.RFC3339), 100+i%997, i%1000)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		found, err := Any("many.csv", bytes.NewReader(text.Bytes()), Options{Site: gauge.Site{Provider: "invented", Number: "1"}})
		if err != nil || len(found.Series[0].Readings) != rows {
			b.Fatal(len(found.Series), err)
		}
	}
	b.ReportMetric(rows*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}
