//! The program, called in-process with arguments as a user would type them.

use std::ffi::OsString;

use serde_json::Value;

/// What a call gave back.
#[derive(Debug)]
pub struct Outcome {
    /// Exit code.
    pub code: u8,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Outcome {
    /// Standard output as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("no JSON object ({error}): {self:?}"))
    }

    /// The problems on standard error.
    pub fn problems(&self) -> Vec<Value> {
        let value: Value = serde_json::from_str(&self.err).unwrap_or_else(|error| panic!("no JSON ({error}): {self:?}"));
        value["problems"].as_array().expect("a list of problems").clone()
    }
}

/// Runs `awn` with arguments.
pub fn awn<A: Into<OsString>>(arguments: impl IntoIterator<Item = A>) -> Outcome {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = std::iter::once(OsString::from("awn")).chain(arguments.into_iter().map(Into::into));
    let code = awn::cli::run(arguments, &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).expect("text");
    Outcome { code, out: text(out), err: text(err) }
}
