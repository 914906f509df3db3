//! What every page needs to know, looked up once.
use super::SiteOptions;
use super::anchor::{self, Names};
use super::pieces::Pieces;
use crate::figure::Social;
use crate::package::{self, Original};
use crate::piece::{self, escape};
use std::collections::BTreeMap;
use std::sync::Arc;
use trueplate_core::corrections::effect::{Effect, alone, sides};
use trueplate_core::corrections::spread::{StaleLine, lines};
use trueplate_core::corrections::worked::{Among, Worked, worked};
use trueplate_core::corrections::{self, Correction};
use trueplate_core::inbox::{self, Standing};
use trueplate_core::kind::{Column, Found, Spec};
use trueplate_core::notebook::{Condition, Notebook, Specimen, Test};
use trueplate_core::outgoing::ReaderQuestion;
use trueplate_core::reading;
use trueplate_core::repeat::{self, ResultRow};
use trueplate_core::report::{self, ModelReport, Place, Report};
use trueplate_core::shown::Style;
use trueplate_core::stamp;
use trueplate_core::uncertain::Value;

/// A bench about to be published.
pub struct Context<'a> {
    pub report: &'a Report,
    pub notebook: &'a Notebook,
    pub options: &'a SiteOptions,
    pub style: Style,
    /// Models that may be shown, those with most usable energy first.
    pub models: Vec<Shown<'a>>,
    /// Readers' questions that may be shown, each with how it stands.
    pub questions: Vec<(&'a ReaderQuestion, Standing)>,
    /// Columns of the first table.
    pub main: Vec<Column>,
    /// Original files that go along.
    pub originals: Vec<Original>,
    /// What corrections did, as it was worked out.
    pub effects: Effects,
    clock: Clock,
    /// Where each of the report's models stands among those shown.
    shown_at: Vec<Option<usize>>,
    kinds: BTreeMap<&'a str, &'static Spec>,
    /// By id, with their places in the notebook.
    tests: BTreeMap<&'a str, (usize, &'a Test)>,
}

/// A moment as written in RFC 3339, on the clock of the bench; empty when it cannot be read.
type Clock = Box<dyn Fn(&str) -> String + Send + Sync>;

fn clock_of(notebook: &Notebook) -> Clock {
    let zone = reading::zone_of(&notebook.settings);
    Box::new(move |at| stamp::stamp(at, None, &zone).map_or(String::new(), |s| stamp::wall(s.at, &zone)))
}

/// What corrections did, by stroke, model and test.
pub type Effects = BTreeMap<(i64, String, String), Arc<Worked>>;

/// A model that may be shown, with what belongs to it.
pub struct Shown<'a> {
    pub report: &'a ModelReport,
    pub specimens: Vec<&'a Specimen>,
    pub tests: Vec<&'a Test>,
    pub corrections: Vec<Corrected>,
    pub slug: String,
    /// Its social card and the path of that, where cards are wanted.
    pub card: Option<(String, Social)>,
    /// Names of places on its page.
    pub places: Arc<Places>,
    /// The same by test.
    pub test_at: BTreeMap<&'a str, Arc<str>>,
    /// Result rows in the order of the kinds, each with the name of its place.
    pub rows: Vec<(&'a ResultRow, Arc<str>)>,
}

/// Names of the places on a model's page: of its results, by index in its report, in the order of the kinds; of its tests.
pub struct Places {
    rows: Vec<(usize, Arc<str>)>,
    tests: Vec<Arc<str>>,
}

impl Places {
    /// Of one result the current ones first, then by condition.
    fn of(report: &Report, model: &ModelReport, tests: &[&Test]) -> Places {
        let order = |r: &ResultRow| {
            let kind = report.kinds.iter().position(|k| k.results.iter().any(|s| s.key == r.result.key));
            let column = report.columns.iter().position(|c| c.result.key == r.result.key);
            (kind, column, r.superseded)
        };
        let mut names = Names::default();
        let mut rows: Vec<(usize, &ResultRow)> = model.rows.iter().enumerate().collect();
        rows.sort_by_cached_key(|(_, r)| (order(r), &r.condition));
        let row = |(i, r): (usize, &ResultRow)| {
            (i, names.give(anchor::result(r.result.key, &r.condition), "r").into())
        };
        let rows = rows.into_iter().map(row).collect();
        let test = |t: &&Test| names.give(format!("t-{}", anchor::slug(&t.id)), "t").into();
        Places { rows, tests: tests.iter().map(test).collect() }
    }
}

/// A correction with what it did.
pub struct Corrected {
    pub correction: Correction,
    /// Nothing where its past cannot be read.
    pub effect: Option<Effect>,
    /// Where videos still say the old number.
    pub lines: Vec<StaleLine>,
}

/// Columns in the first table at most.
pub(crate) const MAIN_COLUMNS: usize = 4;

impl<'a> Context<'a> {
    pub fn new(report: &'a Report, options: &'a SiteOptions, known: &Pieces) -> Context<'a> {
        let notebook: &Notebook = &report.notebook;
        let mut context = Context {
            report,
            notebook,
            options,
            style: options.style,
            models: Vec::new(),
            questions: Vec::new(),
            main: main_columns(report, &options.main, MAIN_COLUMNS),
            originals: Vec::new(),
            effects: Effects::new(),
            clock: clock_of(notebook),
            shown_at: Vec::new(),
            kinds: report.kinds.iter().map(|k| (k.id, *k)).collect(),
            tests: notebook.tests.iter().enumerate().map(|(i, t)| (t.id.as_str(), (i, t))).collect(),
        };
        context.models = context.shown_models(known);
        let place: BTreeMap<&str, usize> =
            context.models.iter().enumerate().map(|(i, m)| (m.report.id.as_str(), i)).collect();
        let shown_at = report.models.iter().map(|m| place.get(m.id.as_str()).copied()).collect();
        context.shown_at = shown_at;
        let mut questions = inbox::in_order(report);
        let shown = |id: &str| id.is_empty() || context.models.iter().any(|m| m.report.id == id);
        questions.retain(|(q, s)| inbox::published(q, s) && shown(&q.model));
        context.questions = questions;
        context.originals = package::originals(&context, &options.kept);
        context
    }

    fn shown_models(&mut self, known: &Pieces) -> Vec<Shown<'a>> {
        let mut specimens: BTreeMap<&str, Vec<&'a Specimen>> = BTreeMap::new();
        self.notebook.specimens.iter().for_each(|s| specimens.entry(&s.model).or_default().push(s));
        let mut tests: BTreeMap<&str, Vec<&'a Test>> = BTreeMap::new();
        self.notebook.tests.iter().for_each(|t| tests.entry(&t.specimen).or_default().push(t));
        let mut corrections = self.corrections(&known.effects);
        let same_columns = known.same_columns(self.report);
        let mut slugs = Names::default();
        let mut shown = Vec::new();
        for report in self.report.models.iter().filter(|m| m.gate.is_empty()) {
            let specimens = specimens.get(report.id.as_str()).cloned().unwrap_or_default();
            let of = |s: &&'a Specimen| tests.get(s.id.as_str()).cloned().unwrap_or_default();
            let tests: Vec<&Test> = specimens.iter().flat_map(of).collect();
            let corrections = corrections.remove(&report.id).unwrap_or_default();
            let places = known.places(report).filter(|_| same_columns);
            let places = places.unwrap_or_else(|| Arc::new(Places::of(self.report, report, &tests)));
            let row = |(i, at): &(usize, Arc<str>)| Some((report.own.rows.get(*i)?, at.clone()));
            let rows = places.rows.iter().filter_map(row).collect();
            let test_at = tests.iter().map(|t| t.id.as_str()).zip(places.tests.iter().cloned()).collect();
            let slug = slugs.give(anchor::slug(&report.name), "model");
            let card = self.options.cards.as_ref().map(|_| Social::of(self.report, report, self.style));
            let card = card.map(|c| (format!("card/{slug}-{}.png", c.version()), c));
            shown.push(Shown { report, specimens, tests, corrections, slug, card, places, test_at, rows });
        }
        self.in_order(shown)
    }

    /// Corrections by model, oldest first.
    fn corrections(&mut self, known: &Effects) -> BTreeMap<String, Vec<Corrected>> {
        let among = Arc::new(Among::of(self.report));
        let mut by_model: BTreeMap<String, Vec<Corrected>> = BTreeMap::new();
        let mut last: Option<(i64, String, Option<Effect>, Vec<StaleLine>)> = None;
        for correction in corrections::all(self.notebook) {
            if !self.report.models.iter().any(|m| m.id == correction.model && m.gate.is_empty()) {
                continue;
            }
            // Things changed at one stroke did what they did together.
            let key = (correction.stroke, correction.model.clone(), correction.test().to_string());
            if last.as_ref().is_none_or(|l| (l.0, &l.1) != (key.0, &key.2)) {
                let done = worked(self.report, &among, &correction, known.get(&key).map(AsRef::as_ref));
                let effect = done.as_ref().and_then(|d| d.effect.clone());
                let lines = self.stale_lines(&correction);
                last = Some((key.0, key.2.clone(), effect, lines));
                self.effects.extend(done.map(|d| (key, Arc::new(d))));
            }
            let Some((_, _, effect, lines)) = last.clone() else { continue };
            by_model.entry(correction.model.clone()).or_default().push(Corrected {
                correction,
                effect,
                lines,
            });
        }
        by_model
    }

    /// Where the kept scripts of a model still say what a correction changed. Numbers of the model alone: who is best
    /// among all would ask for the whole bench as it was.
    fn stale_lines(&self, correction: &Correction) -> Vec<StaleLine> {
        let of_model =
            self.notebook.videos.iter().filter(|v| v.model == correction.model && !v.on.is_empty());
        let kept: Vec<_> =
            of_model.filter_map(|v| Some((v, self.options.scripts.get(&v.script.sha256)?))).collect();
        if kept.is_empty() {
            return Vec::new();
        }
        let Some(now) = alone(self.report, &correction.model) else { return Vec::new() };
        let Some((before, _)) = sides(self.report, correction) else { return Vec::new() };
        kept.into_iter().flat_map(|(v, text)| lines(&now, &before, v, text)).collect()
    }

    fn in_order(&self, shown: Vec<Shown<'a>>) -> Vec<Shown<'a>> {
        let first = self.main.first();
        let at = first.and_then(report::index_of);
        let key = |s: &Shown| s.report.cells.iter().find(|c| Some(c.column) == at).map(|c| c.value.x);
        let mut keyed: Vec<(Option<f64>, Shown)> = shown.into_iter().map(|s| (key(&s), s)).collect();
        // Larger first whatever is better: the order is by size, ranks stand elsewhere. Untested last.
        keyed.sort_by(|a, b| match (a.0, b.0) {
            (Some(x), Some(y)) => y.total_cmp(&x).then_with(|| a.1.slug.cmp(&b.1.slug)),
            (x, y) => y.is_some().cmp(&x.is_some()).then_with(|| a.1.slug.cmp(&b.1.slug)),
        });
        keyed.into_iter().map(|(_, s)| s).collect()
    }

    pub fn kind(&self, id: &str) -> Option<&'static Spec> {
        self.kinds.get(id).copied()
    }

    pub fn test(&self, id: &str) -> Option<&'a Test> {
        self.tests.get(id).map(|(_, test)| *test)
    }

    /// The tests of a model in the notebook's order, whichever sample they are of.
    pub fn tests_in_order(&self, model: &Shown<'a>) -> Vec<&'a Test> {
        let mut tests = model.tests.clone();
        if model.specimens.len() > 1 {
            tests.sort_by_key(|t| self.tests.get(t.id.as_str()).map(|(at, _)| *at));
        }
        tests
    }

    /// A moment on the clock of the bench.
    pub fn moment(&self, at: &str) -> String {
        (self.clock)(at)
    }

    /// What was tried on a model and not held, in tests that count: the test, what, and how it ended.
    pub fn not_held(&self, model: &Shown<'a>) -> Vec<(&'a Test, &'a Found, &'a str)> {
        let counted = model.tests.iter().copied().filter(|t| repeat::counts(t));
        let with = counted.filter_map(|t| Some((t, self.report.outcomes.get(&t.id)?)));
        with.flat_map(|(t, o)| o.failed.iter().map(move |(found, how)| (t, found, how.as_str()))).collect()
    }

    /// The models shown in the order they were written down: it stays when a result changes.
    pub fn as_written(&self) -> impl Iterator<Item = &Shown<'a>> {
        self.shown_at.iter().flatten().filter_map(|i| self.models.get(*i))
    }

    /// The same by their places among the models shown.
    pub fn as_written_at(&self) -> impl Iterator<Item = usize> {
        self.shown_at.iter().flatten().copied()
    }

    /// The models shown, each by its index in the report and by its place among those shown.
    pub fn shown_in_report(&self) -> impl Iterator<Item = (usize, usize)> {
        self.shown_at.iter().enumerate().filter_map(|(i, shown)| Some((i, (*shown)?)))
    }

    /// The models shown that a place cannot be told from, as they stand here, rising.
    pub fn tied(&self, place: &Place) -> Vec<usize> {
        let mut found: Vec<usize> = self.shown(place).collect();
        found.sort_unstable();
        found
    }

    /// The same in no order.
    pub fn shown(&self, place: &Place) -> impl Iterator<Item = usize> {
        place.ties.iter().filter_map(|i| *self.shown_at.get(*i)?)
    }

    /// The kind that yields a result.
    pub fn kind_of(&self, key: &str) -> Option<&'static Spec> {
        self.report.kinds.iter().copied().find(|k| k.results.iter().any(|r| r.key == key))
    }

    /// A condition in words, safe for a page.
    pub fn condition(&self, condition: &Condition) -> String {
        escape(&super::words::condition(condition))
    }

    /// A number inside a line.
    pub fn number(&self, value: &Value, unit: &'static trueplate_core::quantity::Unit) -> String {
        piece::number(value, unit, self.style)
    }

    /// "Switches over, load half" of a column, as plain text.
    pub fn title(&self, column: &Column) -> String {
        let condition = super::words::condition(&column.condition);
        if condition.is_empty() {
            column.result.title.to_string()
        } else {
            format!("{}, {condition}", column.result.title)
        }
    }
}

impl<'a> Shown<'a> {
    /// The row of the page that shows a result under a condition, the current one first.
    pub fn place_of(&self, key: &str, condition: &Condition) -> Option<&str> {
        let fits = |r: &ResultRow| r.result.key == key && r.condition == *condition;
        let found = self.rows.iter().find(|(r, _)| fits(r) && !r.superseded);
        found.or_else(|| self.rows.iter().find(|(r, _)| fits(r))).map(|(_, at)| &**at)
    }

    /// Where a specimen stands among those of the model, and its name there.
    pub fn specimen_name(&self, id: &str) -> String {
        let found = self.specimens.iter().enumerate().find(|(_, s)| s.id == id);
        found.map_or(String::new(), |(i, s)| super::words::specimen(s, i))
    }
}

/// One column for each kind of test: its first result, at half load where it has that. Energy comes first.
pub(crate) fn main_columns(report: &Report, wanted: &[String], most: usize) -> Vec<Column> {
    let half = |c: &&&Column| c.condition.get("load").is_some_and(|l| l == "50 %" || l == "half");
    let best = |key: &str| {
        let of_key: Vec<&Column> = report.columns.iter().filter(|c| c.result.key == key).collect();
        of_key.iter().find(half).or(of_key.first()).map(|c| (*c).clone())
    };
    let keys: Vec<&str> = match wanted {
        [] => report.kinds.iter().flat_map(|k| k.results.first()).map(|r| r.key).collect(),
        chosen => chosen.iter().map(String::as_str).collect(),
    };
    let mut main: Vec<Column> = keys.into_iter().filter_map(best).collect();
    main.truncate(most);
    main
}
