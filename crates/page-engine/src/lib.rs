//! Will it run, on a published page: core behind two functions a browser can call. Built by `tools/build-page-engine.sh`.
//!
//! One text goes in and one comes out, in the same place: the page asks for room with [`buf`], writes JSON into it, says
//! [`call`], and reads what stands there then.
use serde::{Deserialize, Serialize};
use std::sync::{Mutex, PoisonError};
use trueplate_core::answer::{Published, Reply, Typed};

/// What a page may say.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Asked {
    /// What was published, once.
    Open(Box<Published>),
    /// What is typed.
    Ask(Typed),
}

/// What it is told.
#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
enum Told {
    Opened { models: usize },
    Reply(Reply),
    Trouble(String),
}

/// The text handed over, before and after.
static TEXT: Mutex<Vec<u8>> = Mutex::new(Vec::new());
/// What was published.
static OPEN: Mutex<Option<Published>> = Mutex::new(None);

/// Room for `len` bytes; what stood in the first of them is kept. The place holds until the next call of either.
#[allow(unsafe_code, reason = "the only way for a browser to find it is its name")]
#[unsafe(no_mangle)]
pub extern "C" fn buf(len: usize) -> *mut u8 {
    let mut text = TEXT.lock().unwrap_or_else(PoisonError::into_inner);
    text.resize(len, 0);
    text.as_mut_ptr()
}

/// Answers the text that stands in the room and puts the answer there; gives its length in bytes.
#[allow(unsafe_code, reason = "the only way for a browser to find it is its name")]
#[unsafe(no_mangle)]
pub extern "C" fn call() -> usize {
    let mut text = TEXT.lock().unwrap_or_else(PoisonError::into_inner);
    *text = told(&text);
    text.len()
}

/// One JSON document in, one out. Total.
pub fn told(asked: &[u8]) -> Vec<u8> {
    let mut open = OPEN.lock().unwrap_or_else(PoisonError::into_inner);
    let told = match (serde_json::from_slice(asked), open.as_ref()) {
        (Ok(Asked::Open(published)), _) => {
            let models = published.grounds.models.len();
            *open = Some(*published);
            Told::Opened { models }
        }
        (Ok(Asked::Ask(typed)), Some(published)) => Told::Reply(published.ask(&typed)),
        (Ok(Asked::Ask(_)), None) => Told::Trouble("nothing was published to this page".into()),
        (Err(e), _) => Told::Trouble(e.to_string()),
    };
    serde_json::to_vec(&told).unwrap_or_default()
}
