//! A bench that is kept in memory only, with the calls of the bench file.
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use trueplate_core::notebook::{Change, FileRef, Notebook, Record};

/// The bench.
#[derive(Default)]
pub struct Bench {
    notebook: Notebook,
    strokes: Vec<Notebook>,
    once: BTreeMap<String, i64>,
    files: BTreeMap<String, Vec<u8>>,
    revision: i64,
}

impl Bench {
    pub fn open(_path: &Path) -> anyhow::Result<Bench> {
        Ok(Bench::default())
    }
    pub fn revision(&self) -> anyhow::Result<i64> {
        Ok(self.revision)
    }
    pub fn notebook(&self) -> anyhow::Result<Notebook> {
        Ok(self.notebook.clone())
    }
    pub fn done(&self, once: &str) -> anyhow::Result<Option<i64>> {
        Ok(self.once.get(once).copied())
    }
    pub fn save(&mut self, records: &[Record], why: &str, at: &str, once: &str) -> anyhow::Result<i64> {
        self.strokes.push(self.notebook.clone());
        let stroke = self.strokes.len() as i64;
        for record in records {
            if let Record::Test(new) = record
                && let Some(old) = self.notebook.test(&new.id).cloned()
            {
                for (key, entry) in &new.entries {
                    if let Some(was) = old.entries.get(key).filter(|w| w.text != entry.text) {
                        self.notebook.changes.push(Change {
                            seq: self.notebook.changes.len() as i64 + 1,
                            stroke,
                            at: at.into(),
                            record: "test".into(),
                            id: new.id.clone(),
                            field: format!("/entries/{key}/text"),
                            old: serde_json::to_string(&was.text)?,
                            new: serde_json::to_string(&entry.text)?,
                            why: why.into(),
                        });
                    }
                }
            }
            self.notebook.put(record.clone());
        }
        if !once.is_empty() {
            self.once.insert(once.into(), stroke);
        }
        self.revision += 1;
        Ok(stroke)
    }
    pub fn undo(&mut self, stroke: i64, _at: &str) -> anyhow::Result<i64> {
        let before = self.strokes.get(stroke as usize - 1).cloned();
        self.notebook = before.ok_or_else(|| anyhow::anyhow!("there is no stroke {stroke}"))?;
        self.revision += 1;
        Ok(stroke)
    }
    pub fn put_file(&mut self, name: &str, media: &str, bytes: &[u8]) -> anyhow::Result<FileRef> {
        let sha256: String = Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect();
        self.files.insert(sha256.clone(), bytes.to_vec());
        Ok(FileRef { sha256, name: name.into(), media: media.into() })
    }
    pub fn file(&self, sha256: &str) -> anyhow::Result<Option<Vec<u8>>> {
        Ok(self.files.get(sha256).cloned())
    }
}
