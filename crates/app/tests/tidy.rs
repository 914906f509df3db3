//! House rules, checked like any other property of the code. Each rule is also tried on text that breaks it.
mod tidy {
    mod boundaries;
    mod engine;
    mod files;
    mod tree;
}
