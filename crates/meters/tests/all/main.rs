//! Tests of reading meters' logs: messy files, damaged files, real logs, properties.
mod damage;
mod data;
mod daylight;
mod mess;
mod properties;
mod record;
mod support;
