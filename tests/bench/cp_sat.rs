//! Another solver on the same problems in the same run, where Python and OR-Tools are at hand.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::Duration;

use linkout::calc::turnaround::{Answer, Problem, Verdict};
use serde_json::{Value, json};

/// What the other solver found.
pub struct Other {
    /// Whether all that must be done is done by the call; nothing, if it found no plan.
    on_time: Option<bool>,
    value: i64,
    finish: i64,
    /// Proven to be the best.
    pub proven: bool,
    /// Processor time.
    pub time: Duration,
}

impl Other {
    /// How `answer` compares with it: greater is better.
    pub fn against(&self, answer: &Answer) -> std::cmp::Ordering {
        let own = (
            Some(answer.verdict == Verdict::OnTime),
            answer.value,
            -answer.finish,
        );
        own.cmp(&(self.on_time, self.value, -self.finish))
    }
}

/// The other solver, one process for all problems.
pub struct CpSat {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
}

impl CpSat {
    /// Starts it if `LINKOUT_CP_SAT` names a Python that has OR-Tools.
    pub fn start() -> Option<Self> {
        let python = std::env::var_os("LINKOUT_CP_SAT")?;
        let mut child = Command::new(python)
            .arg("tests/bench/cp_sat.py")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("Python starts");
        Some(Self {
            to: child.stdin.take().expect("its input"),
            from: BufReader::new(child.stdout.take().expect("its output")),
            child,
        })
    }

    /// Plans one problem.
    pub fn solve(&mut self, problem: &Problem, limit: Duration) -> Other {
        let asked = json!({"problem": problem, "limit_s": limit.as_secs_f64()});
        writeln!(self.to, "{asked}").expect("it reads");
        let mut line = String::new();
        self.from.read_line(&mut line).expect("it answers");
        let found: Value = serde_json::from_str(&line).expect("an answer");
        let number = |name: &str| found[name].as_i64().expect("a number");
        Other {
            on_time: found["on_time"].as_bool(),
            value: number("value"),
            finish: number("finish"),
            proven: found["proven"] == true,
            time: Duration::from_secs_f64(found["time_s"].as_f64().expect("a time")),
        }
    }
}

impl Drop for CpSat {
    fn drop(&mut self) {
        // It ends with its input; a bench that failed does not wait for it.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
