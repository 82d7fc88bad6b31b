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
