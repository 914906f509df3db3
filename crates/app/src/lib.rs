//! The program: everything that touches files, the clock, the network and the command line.
pub mod cli;
pub mod calendar;
mod captures;
pub mod clock;
pub mod publish;
pub mod export;
pub mod old_table;
pub mod recordings;
pub mod spool;
pub mod demo;
pub mod desk;
pub mod figures;
pub mod web;
