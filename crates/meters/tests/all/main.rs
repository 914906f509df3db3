//! Tests of reading files of meters and oscilloscopes: messy files, damaged files, real logs, properties.
mod damage;
mod data;
mod daylight;
mod mess;
mod properties;
mod record;
mod support;
mod waves;
