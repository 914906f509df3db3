//! Units and the words for quantities, in the languages meters write.
use super::mapping::Role;

/// A unit of measure as written in a log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Unit {
    /// UCUM code.
    pub(crate) ucum: &'static str,
    /// What it measures.
    pub(crate) role: Role,
    /// Multiply by this to get W, W·h, V, A, s, °C (offset apart) or 1.
    pub(crate) factor: f64,
}

/// As written (exact case first, then lower case), UCUM code, role, factor.
const UNITS: &[(&str, &str, Role, f64)] = &[
    ("W", "W", Role::Power, 1.0),
    ("kW", "kW", Role::Power, 1e3),
    ("mW", "mW", Role::Power, 1e-3),
    ("MW", "MW", Role::Power, 1e6),
    ("Wh", "W.h", Role::EnergyCounter, 1.0),
    ("W·h", "W.h", Role::EnergyCounter, 1.0),
    ("W.h", "W.h", Role::EnergyCounter, 1.0),
    ("kWh", "kW.h", Role::EnergyCounter, 1e3),
    ("kW·h", "kW.h", Role::EnergyCounter, 1e3),
    ("kW.h", "kW.h", Role::EnergyCounter, 1e3),
    ("mWh", "mW.h", Role::EnergyCounter, 1e-3),
    ("mW.h", "mW.h", Role::EnergyCounter, 1e-3),
    ("MWh", "MW.h", Role::EnergyCounter, 1e6),
    ("J", "J", Role::EnergyCounter, 1.0 / 3600.0),
    ("kJ", "kJ", Role::EnergyCounter, 1.0 / 3.6),
    ("V", "V", Role::Voltage, 1.0),
    ("mV", "mV", Role::Voltage, 1e-3),
    ("kV", "kV", Role::Voltage, 1e3),
    ("A", "A", Role::Current, 1.0),
    ("mA", "mA", Role::Current, 1e-3),
    ("µA", "uA", Role::Current, 1e-6),
    ("uA", "uA", Role::Current, 1e-6),
    ("°C", "Cel", Role::Temperature, 1.0),
    ("Cel", "Cel", Role::Temperature, 1.0),
    ("degC", "Cel", Role::Temperature, 1.0),
    ("°F", "[degF]", Role::Temperature, 1.0),
    ("[degF]", "[degF]", Role::Temperature, 1.0),
    ("s", "s", Role::Elapsed, 1.0),
    ("sec", "s", Role::Elapsed, 1.0),
    ("ms", "ms", Role::Elapsed, 1e-3),
    ("min", "min", Role::Elapsed, 60.0),
    ("h", "h", Role::Elapsed, 3600.0),
    ("hours", "h", Role::Elapsed, 3600.0),
    ("VA", "V.A", Role::Other, 1.0),
    ("kVA", "kV.A", Role::Other, 1.0),
    ("var", "var", Role::Other, 1.0),
    ("Hz", "Hz", Role::Other, 1.0),
    ("Ah", "A.h", Role::Other, 1.0),
    ("mAh", "mA.h", Role::Other, 1.0),
    ("%", "%", Role::Other, 1.0),
    ("dB", "dB", Role::Other, 1.0),
    ("Ω", "Ohm", Role::Other, 1.0),
];

/// Units spelt out or in other scripts, lower case.
const SPELT: &[(&str, &str)] = &[
    ("watt", "W"),
    ("watts", "W"),
    ("вт", "W"),
    ("瓦", "W"),
    ("watt hours", "Wh"),
    ("watt-hours", "Wh"),
    ("watthours", "Wh"),
    ("watt-hr", "Wh"),
    ("wh", "Wh"),
    ("втч", "Wh"),
    ("вт·ч", "Wh"),
    ("квтч", "kWh"),
    ("квт·ч", "kWh"),
    ("квт", "kW"),
    ("kilowatt", "kW"),
    ("kw", "kW"),
    ("kwh", "kWh"),
    ("kilowatt hours", "kWh"),
    ("volt", "V"),
    ("volts", "V"),
    ("в", "V"),
    ("v", "V"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("amperes", "A"),
    ("ma", "mA"),
    ("mv", "mV"),
    ("mw", "mW"),
    ("mwh", "mWh"),
    ("а", "A"),
    ("a", "A"),
    ("w", "W"),
    ("°c", "°C"),
    ("℃", "°C"),
    ("ºc", "°C"),
    ("celsius", "°C"),
    ("°f", "°F"),
    ("℉", "°F"),
    ("fahrenheit", "°F"),
    ("second", "s"),
    ("seconds", "s"),
    ("sek", "s"),
    ("minutes", "min"),
    ("hour", "h"),
    ("hrs", "h"),
    ("va", "VA"),
    ("hz", "Hz"),
    ("ah", "Ah"),
    ("mah", "mAh"),
];

/// The unit a piece of text names, if it names one and nothing else.
pub(crate) fn unit_of(text: &str) -> Option<Unit> {
    let text = text.trim();
    let exact = |name: &str| {
        UNITS.iter().find(|u| u.0 == name).map(|&(_, ucum, role, factor)| Unit { ucum, role, factor })
    };
    exact(text).or_else(|| {
        let low = text.to_lowercase();
        SPELT.iter().find(|s| s.0 == low).and_then(|s| exact(s.1))
    })
}

/// The unit behind a UCUM code of a mapping.
pub(crate) fn unit_of_code(code: &str) -> Option<Unit> {
    UNITS
        .iter()
        .find(|u| u.1 == code)
        .map(|&(_, ucum, role, factor)| Unit { ucum, role, factor })
        .or_else(|| unit_of(code))
}

/// Words that name a quantity whatever the unit, tried in this order; folded to lower case without accents.
/// English, German, French, Spanish, Portuguese, Italian, Dutch, the Nordic languages, Polish, Czech, Russian,
/// Chinese and Japanese (from memory).
pub(crate) const WORDS: &[(Role, &[&str])] = &[
    (
        Role::PowerFactor,
        &[
            "power factor",
            "powerfactor",
            "power_factor",
            "cos phi",
            "cosphi",
            "cosφ",
            "leistungsfaktor",
            "facteur de puissance",
        ],
    ),
    (
        Role::Other,
        &[
            "apparent",
            "reactive",
            "scheinleistung",
            "blindleistung",
            "apparente",
            "reactiv",
            "frequen",
            "freq",
            "charge (ah",
            "capacity",
            "soc",
            "cost",
            "kosten",
            "price",
            "co2",
            "percent",
        ],
    ),
    (
        Role::EnergyCounter,
        &[
            "energ",
            "kwh",
            "watt-hr",
            "watt hour",
            "watthour",
            "consum",
            "verbrauch",
            "zahler",
            "consommation",
            "forbruk",
            "zuzycie",
            "spotreba",
            "энерг",
            "电量",
            "電力量",
            "电能",
        ],
    ),
    (
        Role::Power,
        &[
            "power",
            "leistung",
            "puissance",
            "potencia",
            "potenza",
            "vermogen",
            "effekt",
            "teho",
            "moc",
            "vykon",
            "мощност",
            "功率",
            "電力",
            "watt",
            "load",
        ],
    ),
    (
        Role::Voltage,
        &["volt", "spannung", "tension", "tensao", "spanning", "napie", "napeti", "напряж", "电压", "電圧"],
    ),
    (
        Role::Current,
        &[
            "current",
            "amp",
            "strom",
            "courant",
            "intensit",
            "corrente",
            "corriente",
            "stroom",
            "prad",
            "proud",
            "ток",
            "电流",
            "電流",
        ],
    ),
    (Role::Temperature, &["temp", "lampotila", "темп", "温度"]),
    (
        Role::Elapsed,
        &[
            "elapsed",
            "duration",
            "dauer",
            "laufzeit",
            "duree",
            "duracion",
            "durata",
            "runtime",
            "test time",
            "testtime",
            "seconds",
            "uptime",
            "verstreken",
        ],
    ),
    (
        Role::Device,
        &["device", "gerat", "appareil", "dispositivo", "apparaat", "meter id", "serial", "socket", "plug"],
    ),
];

/// Words for a time column.
pub(crate) const TIME_WORDS: &[&str] = &[
    "time",
    "zeit",
    "heure",
    "hora",
    "ora",
    "tijd",
    "tid",
    "aika",
    "czas",
    "cas",
    "date",
    "datum",
    "fecha",
    "data",
    "epoch",
    "stamp",
    "local",
    "utc",
    "время",
    "дата",
    "时间",
    "日期",
    "日時",
    "時刻",
    "at",
];

/// Words that say an energy column counts on and on.
pub(crate) const COUNTER_WORDS: &[&str] =
    &["total", "sum", "counter", "cumul", "zahler", "reading", "stand", "gesamt", "import"];

/// Words that say an energy column holds the energy of each interval.
pub(crate) const INTERVAL_WORDS: &[&str] = &["interval", "per ", "delta", "increment", "period"];

/// Lower case, accents of Latin letters taken off, so that words compare.
pub(crate) fn fold(text: &str) -> String {
    text.chars()
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            'á' | 'à' | 'â' | 'ä' | 'ã' | 'å' | 'ą' => 'a',
            'é' | 'è' | 'ê' | 'ë' | 'ě' | 'ę' => 'e',
            'í' | 'ì' | 'î' | 'ï' => 'i',
            'ó' | 'ò' | 'ô' | 'ö' | 'õ' | 'ø' => 'o',
            'ú' | 'ù' | 'û' | 'ü' | 'ů' => 'u',
            'ý' => 'y',
            'ç' | 'č' | 'ć' => 'c',
            'ñ' | 'ń' => 'n',
            'š' | 'ś' => 's',
            'ž' | 'ź' | 'ż' => 'z',
            'ł' => 'l',
            c => c,
        })
        .collect()
}
