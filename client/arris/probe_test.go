package arris
import ("testing";"fmt";"os";"arris.example/service"; arrisv1 "arris.example/proto/arris/v1";"google.golang.org/protobuf/encoding/protojson")
func TestProbe(t *testing.T){
 s,_:=service.New(service.Config{Demo:true}); c,_:=s.Dial(); g:=arrisv1.NewGrindServiceClient(c)
 b,_:=os.ReadFile(os.Getenv("REQ")); r:=&arrisv1.SolveSetupRequest{}
 if err:=protojson.Unmarshal(b,r);err!=nil{t.Fatal(err)}
 a,err:=g.SolveSetup(t.Context(),r)
 if err!=nil{fmt.Println(err); return}
 fmt.Println(protojson.MarshalOptions{Multiline:true,EmitUnpopulated:true}.Format(a))
}
