//! Reference programs: Python scripts over published libraries, to check our own figures against.
//!
//! The test command of the README installs the libraries of `tests/reference/requirements.txt` (pinned) and sets
//! `AWN_REFERENCE_PYTHON` to the interpreter that has them.

use std::io::Write as _;
use std::process::{Command, Stdio};

use serde_json::Value;

/// Runs `tests/reference/SCRIPT.py` with `input` as JSON on its standard input; returns the JSON it prints.
///
/// # Panics
/// With a sentence on what to do, if the interpreter is not set or the script fails.
pub fn run(script: &str, input: &Value) -> Value {
    let python = std::env::var("AWN_REFERENCE_PYTHON")
        .expect("AWN_REFERENCE_PYTHON is not set: run the tests through .ci/run, which installs the reference libraries");
    let path = crate::project_path("tests/reference").join(format!("{script}.py"));
    let mut child = Command::new(python)
        .arg(&path)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the reference interpreter starts");
    child.stdin.take().expect("piped").write_all(input.to_string().as_bytes()).expect("the script reads its input");
    let output = child.wait_with_output().expect("the script ends");
    assert!(output.status.success(), "{} failed", path.display());
    serde_json::from_slice(&output.stdout).expect("the script prints JSON")
}
