//! The web app over a real loopback socket: what a browser, a phone and an attacker would send, and what comes back.
mod web {
    mod asking;
    mod bench;
    mod captures;
    mod client;
    mod comparing;
    mod facts;
    mod goes_out;
    mod guards;
    mod keeping;
    mod logs;
    mod meters;
    mod phone;
    mod publishing;
    mod screens;
    mod uploads;
}
