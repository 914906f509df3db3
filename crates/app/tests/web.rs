//! The web app over a real loopback socket: what a browser, a phone and an attacker would send, and what comes back.
mod web {
    mod asking;
    mod bench;
    mod client;
    mod comparing;
    mod guards;
    mod keeping;
    mod meters;
    mod screens;
}
