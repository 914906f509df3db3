//! The program as a library: what the commands and the local web app share.
pub mod desk;
pub mod publish;
pub mod web;
