package sheet_test
import ("testing";"bytes";"os";"strings";"rigtally/journal/sheet")
func TestZZ(t *testing.T){ for _,e:=range corpus(t){ if !strings.Contains(" "+os.Getenv("ZZ")+" "," "+e.name+" "){continue}
 s,err:=sheet.Read(t.Context(),bytes.NewReader(e.file),e.name,e.options); if err!=nil{t.Log(e.name,err);continue}
 h,_:=s.Held(); t.Logf("== %s\n%s\nstops %v\nbad %v\n%v",e.name,told(s),s.Stops,refusal(s,nil),sums(h)) } }
