//! A record of the bench as it is saved: its sort, its id, finding it and putting it in its place.
use crate::instrument::Instrument;
use crate::notebook::{Load, Model, Notebook, Settings, Specimen, Test};
use crate::outgoing::{Letter, ReaderQuestion, Video};

/// Any record of the bench, for saving.
#[derive(Clone, Debug, PartialEq)]
pub enum Record {
    /// The only one of its sort, id `bench`.
    Settings(Settings),
    /// A model.
    Model(Model),
    /// A specimen.
    Specimen(Specimen),
    /// An instrument.
    Instrument(Instrument),
    /// A load.
    Load(Load),
    /// A test.
    Test(Test),
    /// A letter to a maker.
    Letter(Letter),
    /// A reader's question.
    Question(ReaderQuestion),
    /// A video.
    Video(Video),
}

impl Record {
    /// Sort of record as stored: `settings`, `model`, `specimen`, `instrument`, `load`, `test`, `letter`, `question`,
    /// `video`.
    pub fn sort(&self) -> &'static str {
        match self {
            Record::Settings(_) => "settings",
            Record::Model(_) => "model",
            Record::Specimen(_) => "specimen",
            Record::Instrument(_) => "instrument",
            Record::Load(_) => "load",
            Record::Test(_) => "test",
            Record::Letter(_) => "letter",
            Record::Question(_) => "question",
            Record::Video(_) => "video",
        }
    }
    /// Its id.
    pub fn id(&self) -> &str {
        match self {
            Record::Settings(_) => "bench",
            Record::Model(r) => &r.id,
            Record::Specimen(r) => &r.id,
            Record::Instrument(r) => &r.id,
            Record::Load(r) => &r.id,
            Record::Test(r) => &r.id,
            Record::Letter(r) => &r.id,
            Record::Question(r) => &r.id,
            Record::Video(r) => &r.id,
        }
    }
}

impl Notebook {
    /// Another specimen of the same model under the same serial number: one of the two is a slip.
    pub fn same_serial(&self, specimen: &Specimen) -> Option<&Specimen> {
        let serial = specimen.serial.trim();
        let same = |s: &&Specimen| {
            s.id != specimen.id && s.model == specimen.model && s.serial.trim().eq_ignore_ascii_case(serial)
        };
        self.specimens.iter().find(same).filter(|_| !serial.is_empty())
    }
    /// Puts a record in place of the one with its id, or adds it.
    pub fn put(&mut self, record: Record) {
        fn put<T>(list: &mut Vec<T>, item: T, id: impl Fn(&T) -> &str) {
            match list.iter().position(|x| id(x) == id(&item)) {
                Some(i) => list[i] = item,
                None => list.push(item),
            }
        }
        match record {
            Record::Settings(s) => self.settings = s,
            Record::Model(r) => put(&mut self.models, r, |x| &x.id),
            Record::Specimen(r) => put(&mut self.specimens, r, |x| &x.id),
            Record::Instrument(r) => put(&mut self.instruments, r, |x| &x.id),
            Record::Load(r) => put(&mut self.loads, r, |x| &x.id),
            Record::Test(r) => put(&mut self.tests, r, |x| &x.id),
            Record::Letter(r) => put(&mut self.letters, r, |x| &x.id),
            Record::Question(r) => put(&mut self.questions, r, |x| &x.id),
            Record::Video(r) => put(&mut self.videos, r, |x| &x.id),
        }
    }
}

impl Notebook {
    /// Whether there is a record of this sort with this id. The settings are always there.
    pub fn has(&self, sort: &str, id: &str) -> bool {
        match sort {
            "settings" => true,
            "model" => self.model(id).is_some(),
            "specimen" => self.specimen(id).is_some(),
            "instrument" => self.instrument(id).is_some(),
            "load" => self.load(id).is_some(),
            "test" => self.test(id).is_some(),
            "letter" => self.letter(id).is_some(),
            "question" => self.question(id).is_some(),
            "video" => self.video(id).is_some(),
            _ => false,
        }
    }
    /// Takes out the record of this sort with this id; the others keep their order. The settings go back to the usual ones.
    pub fn take_out(&mut self, sort: &str, id: &str) {
        match sort {
            "settings" => self.settings = Settings::default(),
            "model" => self.models.retain(|x| x.id != id),
            "specimen" => self.specimens.retain(|x| x.id != id),
            "instrument" => self.instruments.retain(|x| x.id != id),
            "load" => self.loads.retain(|x| x.id != id),
            "test" => self.tests.retain(|x| x.id != id),
            "letter" => self.letters.retain(|x| x.id != id),
            "question" => self.questions.retain(|x| x.id != id),
            "video" => self.videos.retain(|x| x.id != id),
            _ => {}
        }
    }
    /// The model with this id.
    pub fn model(&self, id: &str) -> Option<&Model> {
        self.models.iter().find(|m| m.id == id)
    }
    /// The specimen with this id.
    pub fn specimen(&self, id: &str) -> Option<&Specimen> {
        self.specimens.iter().find(|s| s.id == id)
    }
    /// The model of a specimen.
    pub fn model_of(&self, specimen: &str) -> Option<&Model> {
        self.model(&self.specimen(specimen)?.model)
    }
    /// The instrument with this id.
    pub fn instrument(&self, id: &str) -> Option<&Instrument> {
        self.instruments.iter().find(|i| i.id == id)
    }
    /// The load with this id.
    pub fn load(&self, id: &str) -> Option<&Load> {
        self.loads.iter().find(|l| l.id == id)
    }
    /// The letter with this id.
    pub fn letter(&self, id: &str) -> Option<&Letter> {
        self.letters.iter().find(|l| l.id == id)
    }
    /// The reader's question with this id.
    pub fn question(&self, id: &str) -> Option<&ReaderQuestion> {
        self.questions.iter().find(|q| q.id == id)
    }
    /// The video with this id.
    pub fn video(&self, id: &str) -> Option<&Video> {
        self.videos.iter().find(|v| v.id == id)
    }
    /// The test with this id.
    pub fn test(&self, id: &str) -> Option<&Test> {
        self.tests.iter().find(|t| t.id == id)
    }
}
