package hours

import (
	"slices"
	"strings"
)

// zonesOf are the IANA time zones of the countries that something is known of, by
// ISO 3166-1 code. Where a zone serves several countries it stands with the one in
// whose name it is kept.
var zonesOf = map[string][]string{
	"AD": {"Europe/Andorra"},
	"AT": {"Europe/Vienna"},
	"AU": {"Antarctica/Macquarie", "Australia/Adelaide", "Australia/Brisbane", "Australia/Broken_Hill", "Australia/Darwin",
		"Australia/Eucla", "Australia/Hobart", "Australia/Lindeman", "Australia/Lord_Howe", "Australia/Melbourne",
		"Australia/Perth", "Australia/Sydney"},
	"BE": {"Europe/Brussels"},
	"CA": {"America/Atikokan", "America/Blanc-Sablon", "America/Cambridge_Bay", "America/Creston", "America/Dawson",
		"America/Dawson_Creek", "America/Edmonton", "America/Fort_Nelson", "America/Glace_Bay", "America/Goose_Bay",
		"America/Halifax", "America/Inuvik", "America/Iqaluit", "America/Moncton", "America/Montreal", "America/Nipigon",
		"America/Pangnirtung", "America/Rainy_River", "America/Rankin_Inlet", "America/Regina", "America/Resolute",
		"America/St_Johns", "America/Swift_Current", "America/Thunder_Bay", "America/Toronto", "America/Vancouver",
		"America/Whitehorse", "America/Winnipeg", "America/Yellowknife"},
	"CH": {"Europe/Zurich"},
	"CZ": {"Europe/Prague"},
	"DE": {"Europe/Berlin", "Europe/Busingen"},
	"DK": {"Europe/Copenhagen"},
	"ES": {"Africa/Ceuta", "Atlantic/Canary", "Europe/Madrid"},
	"FI": {"Europe/Helsinki", "Europe/Mariehamn"},
	"FR": {"Europe/Paris"},
	"GB": {"Europe/London"},
	"GR": {"Europe/Athens"},
	"HU": {"Europe/Budapest"},
	"IE": {"Europe/Dublin"},
	"IT": {"Europe/Rome"},
	"JP": {"Asia/Tokyo"},
	"LU": {"Europe/Luxembourg"},
	"NL": {"Europe/Amsterdam"},
	"NO": {"Europe/Oslo"},
	"NZ": {"Pacific/Auckland", "Pacific/Chatham"},
	"PL": {"Europe/Warsaw"},
	"PT": {"Atlantic/Azores", "Atlantic/Madeira", "Europe/Lisbon"},
	"SE": {"Europe/Stockholm"},
	"SI": {"Europe/Ljubljana"},
	"US": {"America/Adak", "America/Anchorage", "America/Boise", "America/Chicago", "America/Denver", "America/Detroit",
		"America/Indiana/Indianapolis", "America/Indiana/Knox", "America/Indiana/Marengo", "America/Indiana/Petersburg",
		"America/Indiana/Tell_City", "America/Indiana/Vevay", "America/Indiana/Vincennes", "America/Indiana/Winamac",
		"America/Juneau", "America/Kentucky/Louisville", "America/Kentucky/Monticello", "America/Los_Angeles",
		"America/Menominee", "America/Metlakatla", "America/New_York", "America/Nome", "America/North_Dakota/Beulah",
		"America/North_Dakota/Center", "America/North_Dakota/New_Salem", "America/Phoenix", "America/Sitka",
		"America/Yakutat", "Pacific/Honolulu"},
}

// isoCodes are the countries and territories of ISO 3166-1, alpha-2; from memory.
const isoCodes = " AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ BR BS BT BV BW BY BZ CA CC CD " +
	"CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM DO DZ EC EE EG EH ER ES ET FI FJ FK FM FO FR GA GB GD GE GF " +
	"GG GH GI GL GM GN GP GQ GR GS GT GU GW GY HK HM HN HR HT HU ID IE IL IM IN IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN " +
	"KP KR KW KY KZ LA LB LC LI LK LR LS LT LU LV LY MA MC MD ME MF MG MH MK ML MM MN MO MP MQ MR MS MT MU MV MW MX MY MZ NA " +
	"NC NE NF NG NI NL NO NP NR NU NZ OM PA PE PF PG PH PK PL PM PN PR PS PT PW PY QA RE RO RS RU RW SA SB SC SD SE SG SH SI " +
	"SJ SK SL SM SN SO SR SS ST SV SX SY SZ TC TD TF TG TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE VG VI " +
	"VN VU WF WS YE YT ZA ZM ZW "

// KnownCountry says whether a code, as Country gives it, stands for a country at all.
func KnownCountry(code string) bool {
	return len(code) == 2 && strings.Contains(isoCodes, " "+code+" ")
}

// CountryOf is the country that a time zone lies in, as an ISO 3166-1 code of two
// letters; "" where it is none of those that something is known of.
func CountryOf(zone string) string {
	for country, zones := range zonesOf {
		if slices.Contains(zones, zone) {
			return country
		}
	}
	return ""
}

// Country brings a code that somebody wrote into its usual form: "us" is "US". Great
// Britain is known by its internet code too.
func Country(code string) string {
	code = strings.ToUpper(strings.TrimSpace(code))
	if code == "UK" {
		return "GB"
	}
	return code
}
