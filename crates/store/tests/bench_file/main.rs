//! The bench file under everything that happens to files: kills, full disks, flipped bits, two programs, old versions.
mod ground;
mod backup;
mod damaged;
mod files;
mod full;
mod history;
mod killed;
mod old;
mod read_only;
mod refused;
mod running;
mod saving;
mod since;
mod speed;
mod two;
