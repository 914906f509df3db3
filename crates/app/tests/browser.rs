//! The program as a person meets it: in a real browser, at a desk and on a phone.
//!
//! Every test here has a name that starts with `browser::`, so `./check --fast` can leave them out.
//! They need Chromium and its driver; `./check` installs both. Without them the tests fail, they do not skip.

mod browser {
    mod audit;
    mod driver;
    mod buyer;
    mod captures;
    mod demo_walk;
    mod facts;
    mod first_thread;
    mod harness;
    mod logs;
    mod made;
    mod own;
    mod phone;
    mod program;
    mod whole_station;
    mod will_it_run;
}
