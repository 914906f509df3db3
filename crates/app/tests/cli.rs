//! The command line as a promise: what each command prints, where, and how it ends.
mod cli {
    mod captures;
    pub mod run;
    mod export;
    mod figures;
    mod files;
    mod law;
    mod publish_again;
    mod publish_killed;
    mod questions;
    mod wave;
}
