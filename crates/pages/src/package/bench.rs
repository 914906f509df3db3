//! Tables of what stands on the bench: stations, samples, claims, prices, loads, instruments and their calibrations.
//! What is private (serial numbers, remarks, names of files) is in none of them.
use super::condition;
use super::table::{Cell, Column, Lines, Plan, Sort, UNREADABLE, column, day, maybe, noted, text};
use crate::site::context::{Context, Shown};
use trueplate_core::disclosure;
use trueplate_core::notebook::LoadSort;
use trueplate_core::quantity::Dim;

const MODEL: Column = column("model", Sort::Text, "the station, by its id");

pub static MODELS: Plan = Plan {
    name: "models",
    title: "Stations",
    about: "Products as sold.",
    columns: &[
        MODEL,
        column("name", Sort::Text, "maker and name as printed on the box"),
        column("chemistry", Sort::Text, "of the cells, as stated"),
        column("mains_voltage", Sort::Number, "nominal voltage of the outlet").unit("V"),
        column("mains_frequency", Sort::Number, "nominal frequency of the outlet").unit("Hz"),
        column("page", Sort::Text, "its page in this folder"),
    ],
    key: &["model"],
    refs: &[],
};

/// A station.
pub fn models(context: &Context, shown: &Shown) -> Lines {
    let mut lines = Lines::of(&MODELS, true);
    if let Some(m) = context.notebook.model(&shown.report.id) {
        let page = format!("m/{}.html", shown.slug);
        lines.row([
            text(&m.id),
            text(&m.name),
            text(&m.chemistry),
            noted(m.mains_v),
            noted(m.mains_hz),
            text(page),
        ]);
    }
    lines
}

pub static SPECIMENS: Plan = Plan {
    name: "specimens",
    title: "Samples",
    about: "The physical samples that were tested, and how each came to the bench.",
    columns: &[
        column("specimen", Sort::Text, "the sample, by its id"),
        MODEL,
        column("label", Sort::Text, "what tells it from another of the same station"),
        column("came", Sort::Text, "bought, lent, given or paid"),
        column("disclosure", Sort::Text, "from whom, when, on which terms"),
        column("firmware", Sort::Text, "version it carries now"),
        column("returned", Sort::Day, "day it went back").gaps(&[UNREADABLE]),
    ],
    key: &["specimen"],
    refs: &[("model", "models", "model")],
};

/// The samples of a station.
pub fn specimens(shown: &Shown) -> Lines {
    let mut lines = Lines::of(&SPECIMENS, false);
    for s in &shown.specimens {
        let came = disclosure::came(s.came).to_lowercase();
        lines.row([
            text(&s.id),
            text(&s.model),
            text(&s.label),
            text(came),
            text(disclosure::of_specimen(s)),
            text(s.firmware_now()),
            day(&s.returned),
        ]);
    }
    lines
}

pub static CLAIMS: Plan = Plan {
    name: "claims",
    title: "What the makers state",
    about: "Each figure with its condition, source and the day it was seen. What became of it stands in the results.",
    columns: &[
        MODEL,
        column("claim", Sort::Text, "the claim, by its id within the station"),
        column("result", Sort::Text, "which result it speaks of"),
        column("condition", Sort::Text, "under which it is stated to hold: axis=value, separated by ;"),
        column("stated", Sort::Text, "the figure as it is stated"),
        column("figure", Sort::Number, "the figure as a number").unit("@unit"),
        column("unit", Sort::Text, "of the figure, by the Unified Code for Units of Measure"),
        column("binds", Sort::Text, "from below (minimum) or from above (maximum)"),
        column("words", Sort::Text, "the maker's own words"),
        column("source", Sort::Text, "where it stands"),
        column("seen", Sort::Day, "day it was seen").gaps(&[UNREADABLE]),
    ],
    key: &["model", "claim"],
    refs: &[("model", "models", "model")],
};

/// The claims of a station.
pub fn claims(shown: &Shown) -> Lines {
    let mut lines = Lines::of(&CLAIMS, true);
    for row in &shown.report.claims {
        let (claim, unit) = (&row.claim, row.result.map(|r| r.shown_in()));
        let figure = unit.zip(row.limit).map(|(unit, limit)| unit.shown(limit));
        lines.row([
            text(&shown.report.id),
            text(&claim.id),
            text(&claim.key),
            text(condition(&claim.condition)),
            text(&claim.text),
            maybe(figure),
            text(unit.filter(|_| figure.is_some()).map_or("", |u| u.ucum)),
            text(if row.minimum { "minimum" } else { "maximum" }),
            text(&claim.words),
            text(&claim.source),
            day(&claim.seen),
        ]);
    }
    lines
}

pub static PRICES: Plan = Plan {
    name: "prices",
    title: "Prices",
    about: "Every price that was noted with the day it was seen. One without its day is never printed.",
    columns: &[
        MODEL,
        column("amount", Sort::Number, "the amount, in the currency of its line"),
        column("currency", Sort::Text, "ISO 4217"),
        column("seen", Sort::Day, "day it was seen").gaps(&[UNREADABLE]),
        column("kind", Sort::Text, "list, sale, flash sale, used"),
        column("tax_included", Sort::Yes, "value-added or sales tax is inside"),
        column("bundle", Sort::Text, "what came with it"),
        column("seller", Sort::Text, "where"),
    ],
    key: &[],
    refs: &[("model", "models", "model")],
};

/// The dated prices of a station.
pub fn prices(context: &Context, shown: &Shown) -> Lines {
    let mut lines = Lines::of(&PRICES, true);
    let model = context.notebook.model(&shown.report.id);
    for p in model.iter().flat_map(|m| &m.prices).filter(|p| !p.on.is_empty()) {
        lines.row([
            text(&shown.report.id),
            Cell::Number(p.amount),
            text(&p.currency),
            day(&p.on),
            text(&p.kind),
            Cell::Yes(p.with_tax),
            text(&p.bundle),
            text(&p.seller),
        ]);
    }
    lines
}

static LOADS: Plan = Plan {
    name: "loads",
    title: "Loads",
    about: "Appliances that took the power in the tests.",
    columns: &[
        column("load", Sort::Text, "the load, by its id"),
        column("name", Sort::Text, "what it is called on the bench"),
        column("sort", Sort::Text, "resistive, cycling, motor or electronic"),
        column("resistance", Sort::Number, "when warm").unit("Ohm"),
        column("running", Sort::Number, "power while on").unit("W"),
        column("average", Sort::Number, "mean power over a day").unit("W"),
        column("starting", Sort::Number, "power at the moment of starting").unit("W"),
    ],
    key: &["load"],
    refs: &[],
};

/// The loads.
pub fn loads(context: &Context) -> Lines {
    let mut lines = Lines::of(&LOADS, false);
    for l in &context.notebook.loads {
        let sort = match l.sort {
            LoadSort::Resistive => "resistive",
            LoadSort::Cycling => "cycling",
            LoadSort::Motor => "motor",
            LoadSort::Electronic => "electronic",
        };
        let powers = [noted(l.running_w), noted(l.average_w), noted(l.starting_w)];
        let [running, average, starting] = powers;
        lines.row([text(&l.id), text(&l.name), text(sort), noted(l.ohm), running, average, starting]);
    }
    lines
}

static INSTRUMENTS: Plan = Plan {
    name: "instruments",
    title: "Instruments",
    about: "One line for each statement of accuracy, by quantity and range; the limits are those the maker states.",
    columns: &[
        column("instrument", Sort::Text, "the instrument, by its id"),
        column("name", Sort::Text, "what it is called on the bench"),
        column("about", Sort::Text, "what it is"),
        column("quantity", Sort::Text, "what the statement speaks of"),
        column("of_reading", Sort::Number, "limit of error as a share of the reading").unit("1"),
        column("of_range", Sort::Number, "limit of error as a share of the range").unit("1"),
        column("range", Sort::Number, "full scale").unit("@unit"),
        column("digits", Sort::Number, "limit of error in last digits").unit("1"),
        column("step", Sort::Number, "smallest step shown").unit("@unit"),
        column("truncates", Sort::Yes, "drops what is below a step instead of rounding"),
        column("floor", Sort::Number, "below it nothing usable is shown").unit("@unit"),
        column("up_to", Sort::Number, "the statement holds up to it").unit("@unit"),
        column("unit", Sort::Text, "by the Unified Code for Units of Measure"),
        column("own_draw", Sort::Number, "own consumption").unit("W"),
    ],
    key: &[],
    refs: &[],
};

/// The instruments, a line for each statement; one line for an instrument that states nothing.
pub fn instruments(context: &Context) -> Lines {
    let mut lines = Lines::of(&INSTRUMENTS, true);
    let nothing = trueplate_core::instrument::Accuracy::default();
    for i in &context.notebook.instruments {
        let stated = if i.accuracy.is_empty() { std::slice::from_ref(&nothing) } else { &i.accuracy };
        for a in stated {
            lines.row([
                text(&i.id),
                text(&i.name),
                text(&i.about),
                text(if i.accuracy.is_empty() { "" } else { quantity(a.dim) }),
                noted(a.of_reading),
                noted(a.of_range),
                noted(a.range),
                noted(a.digits),
                noted(a.step),
                Cell::Yes(a.truncates),
                noted(a.floor),
                noted(a.up_to),
                text(if i.accuracy.is_empty() { "" } else { a.dim.kept_in().ucum }),
                noted(i.own_draw_w),
            ]);
        }
    }
    lines
}

/// "power" of "a power".
fn quantity(dim: Dim) -> &'static str {
    dim.words().split_once(' ').map_or("", |(_, word)| word)
}

static CALIBRATIONS: Plan = Plan {
    name: "calibrations",
    title: "Calibrations",
    about: "Comparisons of an instrument with something better.",
    columns: &[
        column("instrument", Sort::Text, "the instrument, by its id"),
        column("on", Sort::Day, "day it was done").gaps(&[UNREADABLE]),
        column("gain_error", Sort::Number, "share by which it shows too much; negative: too little")
            .unit("1"),
        column("u", Sort::Number, "standard uncertainty of that share").unit("1"),
        column("against", Sort::Text, "against what, by whom"),
    ],
    key: &[],
    refs: &[],
};

/// The calibrations.
pub fn calibrations(context: &Context) -> Lines {
    let mut lines = Lines::of(&CALIBRATIONS, false);
    for (i, c) in context.notebook.instruments.iter().flat_map(|i| i.calibrations.iter().map(move |c| (i, c)))
    {
        lines.row([text(&i.id), day(&c.on), Cell::Number(c.gain_error), Cell::Number(c.u), text(&c.against)]);
    }
    lines
}
