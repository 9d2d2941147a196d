package shape

import (
	"strconv"
	"strings"
	"sync"
)

// Words that label parts, in small letters without accents, in English, German, French,
// Spanish, Italian, Polish, Czech, Swedish, Norwegian and Finnish. They are parted by
// commas; of several words, blanks part them.
const (
	// What is numbered or lettered when several are fished one after the other.
	rigWords = "rig,rigs,r,setup,set up,leader,rod,stint,outfit,spell," +
		"montage,vorfach,rute,system,abschnitt," +
		"bas de ligne,canne,ligne,monture," +
		"montaje,aparejo,bajo,bajo de linea,cana,equipo," +
		"montatura,finale,canna,lenza," +
		"zestaw,przypon,wedka," +
		"sestava,navazec,prut,montaz," +
		"rigg,tafs,spo,uppsattning," +
		"oppsett,fortom,stang," +
		"rigi,peruke,perukkeen,vapa,setti,kokoonpano"
	outingWords = "session,sessions,trip,outing,tour,sitzung,seance,sortie,sesion,salida,sessione,uscita,sesja,pass,okt,reissu"
	numberSigns = "no,nr,num,number,nummer,numero,n,c"

	ofWords = "of,on,in,the,with,for,at,from,by,the,during," +
		"von,vom,am,im,bei,mit,der,die,das,den,dem," +
		"de,du,des,le,la,les,l,au,a,d,sur,avec,en," +
		"del,el,los,las,por,con,al," +
		"di,da,dal,dalla,della,dei,delle,il,lo,su,nel,nella,alla," +
		"na,w,z,od,do,po,przed," +
		"v,ve,s,se,o," +
		"pa,i,om,med,til,for,av,under"

	// Fly words that follow a place: "top dropper", "point fly".
	dropperWords = "dropper,droppers,dropper fly," +
		"springer,springerfliege,seitenfliege," +
		"potence,sauteuse,mouche potence," +
		"codal,ramal,gamba,saltona,saltarin,dropper mosca,mosca de rama,rama,bailarina," +
		"bracciolo,mosca bracciolo,saltarello," +
		"skoczek,troczek,trok,boczny trok,mucha boczna,boczna," +
		"privesek,prives,skakajici muska,bocni muska," +
		"upphangare,slape,slapfluga," +
		"opphenger,opphengerflue,slepflue,sidefly," +
		"sivuperho,sivuperuke,sivutapsi,ylaperho"
	pointWords = "point,point fly,tail fly,anchor,anchor fly," +
		"endfliege,streckerfliege,strecker,punktfliege," +
		"pointe,mouche de pointe,mouche pointe," +
		"punta,mosca de punta,mosca punta,de punta," +
		"mosca di punta,di punta," +
		"mucha prowadzaca,prowadzaca,mucha koncowa,koncowa," +
		"koncova,koncova muska,koncovka,bodova muska," +
		"andfluga,spetsfluga,spetsflugan," +
		"endeflue,spissflue,enderflue," +
		"karkiperho,paaperho,karki"
	flyWords = "fly,flies,fliege,mouche,mosca,mucha,muska,fluga,flue,perho"

	topWords = "top,upper,uppermost,highest,obere,oberer,oberes,oben,oberste,haut,haute,superieur,superieure,du haut,alto,alta,superior,de arriba,superiore,in alto," +
		"gorny,gorna,gorne,horni,vrchni,ovre,oversta,overste,ylin,ylempi,yla,ylaosan"
	middleWords = "middle,mid,centre,center,mittlere,mittlerer,mitte,milieu,du milieu,intermediaire,medio,media,del medio,mediano,di mezzo,centrale," +
		"srodkowy,srodkowa,prostredni,stredni,mittersta,mellersta,midtre,midterste,keskimmainen,keski"
	bottomWords = "bottom,lower,lowest,untere,unterer,unteres,unten,unterste,bas,basse,inferieur,inferieure,du bas,bajo,baja,inferior,de abajo,basso,bassa,inferiore,in basso," +
		"dolny,dolna,dolne,dolni,spodni,nedre,nedersta,nederste,alin,alempi,ala,alaosan"
)

// dayParts are the parts of a day, in order. A word may stand in only one.
var dayParts = [...]string{
	"am,a m,morning,mornings,forenoon,before noon," +
		"morgen,morgens,vormittag,vormittags,vorm,vm,fruh," +
		"matin,matinee,du matin,le matin,manana,mananas,por la manana,mattina,mattino,mattinata," +
		"rano,ranek,przedpoludnie,przed poludniem,dopoledne,dop," +
		"morgon,morgonen,formiddag,formiddagen,pa morgonen,fm,morgenen,om morgenen," +
		"aamu,aamun,aamulla,aamupaiva,aamupaivan,aamupaivalla,ap",
	"noon,midday,mid day,mittag,mittags,midi,mediodia,mezzogiorno,poludnie,poledne,middag,keskipaiva,keskipaivan,keskipaivalla",
	"pm,p m,afternoon,afternoons,after noon," +
		"nachmittag,nachmittags,nachm,nm,apres midi,aprem,tarde,tardes,por la tarde,pomeriggio," +
		"popoludnie,po poludniu,odpoledne,odp,eftermiddag,eftermiddagen,em,ettermiddag,ettermiddagen,iltapaiva,iltapaivan,iltapaivalla,ip",
	"evening,evenings,eve,dusk,abend,abends,soir,soiree,du soir,le soir,noche,sera,serata,di sera,wieczor,wieczorem,vecer,kvall,kvallen,pa kvallen,kveld,kvelden,om kvelden,ilta,illan,illalla",
	"night,nights,nacht,nachts,nuit,notte,noc,w nocy,natt,natten,yo,yon,yolla",
}

var ordinals = [...]string{
	"1,i,one,first,1st,eins,erste,erster,erstes,premier,premiere,primer,primera,primero,primo,prima,pierwszy,pierwsza,prvni,forsta,forste,ensimmainen",
	"2,ii,two,second,2nd,zwei,zweite,zweiter,zweites,deuxieme,second,seconde,segundo,segunda,secondo,seconda,drugi,druga,druhy,druha,druhe,andra,andre,toinen",
	"3,iii,three,third,3rd,drei,dritte,dritter,drittes,troisieme,tercer,tercera,tercero,terzo,terza,trzeci,trzecia,treti,tredje,kolmas",
	"4,iv,four,fourth,4th,vier,vierte,vierter,viertes,quatrieme,cuarto,cuarta,quarto,quarta,czwarty,czwarta,ctvrty,ctvrta,fjarde,fjerde,neljas",
	"5,v,five,fifth,5th,funf,funfte,cinquieme,quinto,quinta,piaty,paty,femte,viides",
	"6,vi,six,sixth,6th,sechs,sechste,sixieme,sexto,sesto,szosty,sesty,sjatte,sjette,kuudes",
}

// Words for a number of events, and for a column of events.
const (
	howManyWords = "count,number,no,qty,quantity,how many,times,n,x,anzahl,menge,nombre,nb,quantite,cantidad,numero,quantita,ilosc,liczba,pocet,antal,antall,maara,lukumaara,kpl"
	eventWords   = "event,events,what,what happened,happened,happening,incident,type of event,event type,kind,occurrence,ereignis,ereignisse,vorfall,was,evenement,evenements,quoi,evento,eventos,suceso,que," +
		"eventi,cosa,accaduto,zdarzenie,co,wydarzenie,udalost,handelse,handelser,vad,hendelse,hendelser,hva,tapahtuma,tapahtumat,mita"
)

// unusedWords say in a cell that a rig was not fished, besides the words for none.
const unusedWords = "not used,unused,not fished,nicht benutzt,nicht gefischt,pas utilise,no usado,non usato,nie uzyto,nepouzito,ej anvand,ikke brukt,ei kaytetty"

// levels of a fly on the leader.
const (
	notFly = iota
	bottom
	middle
	top
	onlyDropper
	pointFly
)

// vocabulary finds words quickly.
type vocabulary struct {
	rig, outing, sign, of, howMany, event, unused map[string]bool
	day, ordinal, fly                             map[string]int
	explicit                                      map[string]bool // a fly's label that names a dropper
}

// labelWords is built when first needed, and never changes.
var labelWords = sync.OnceValue(func() *vocabulary {
	set := func(list string) map[string]bool {
		m := map[string]bool{}
		for w := range strings.SplitSeq(list, ",") {
			m[w] = true
		}
		return m
	}
	ranked := func(lists []string) map[string]int {
		m := map[string]int{}
		for i, list := range lists {
			for w := range strings.SplitSeq(list, ",") {
				if m[w] == 0 {
					m[w] = i + 1
				}
			}
		}
		return m
	}
	v := &vocabulary{rig: set(rigWords), outing: set(outingWords), sign: set(numberSigns), of: set(ofWords), howMany: set(howManyWords), event: set(eventWords), unused: set(unusedWords),
		day: ranked(dayParts[:]), ordinal: ranked(ordinals[:]), fly: map[string]int{}, explicit: map[string]bool{}}
	for n := 7; n <= 9; n++ {
		v.ordinal[strconv.Itoa(n)] = n
	}
	droppers := set(dropperWords)
	for w := range droppers {
		v.fly[w], v.explicit[w] = onlyDropper, true
	}
	for w := range set(pointWords) {
		v.fly[w] = pointFly
	}
	for level, list := range map[int]string{top: topWords, middle: middleWords, bottom: bottomWords} {
		for place := range set(list) {
			v.fly[place] = level
			for f := range set(flyWords) {
				v.fly[place+" "+f], v.fly[f+" "+place] = level, level
			}
			for d := range droppers {
				v.fly[place+" "+d], v.fly[d+" "+place] = level, level
				v.explicit[place+" "+d], v.explicit[d+" "+place] = true, true
			}
		}
	}
	return v
})
