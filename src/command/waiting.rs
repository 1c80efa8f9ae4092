//! What a person reads on a terminal while something takes longer than two seconds.

use gripbook::present::writer;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Nothing is said before.
const PATIENCE: Duration = Duration::from_secs(2);
/// How often the line is written anew.
const BEAT: Duration = Duration::from_secs(1);

/// Says what is being done and for how long, on a terminal only, until it is dropped; then the line is gone.
pub struct Waiting {
    what: Arc<Mutex<String>>,
    teller: Option<(Sender<()>, JoinHandle<()>)>,
}

impl Waiting {
    /// Begins to wait for something, e.g. `making the index`.
    pub fn on(what: &str) -> Self {
        let what = Arc::new(Mutex::new(what.to_owned()));
        let teller = if writer::notices_to_terminal() { teller(Arc::clone(&what)) } else { None };
        Waiting { what, teller }
    }
    /// How far it is by now.
    pub fn told(&self, what: String) {
        if let Ok(mut last) = self.what.lock() {
            *last = what;
        }
    }
}

/// The thread that tells, and how to end it; where no thread can be had, nothing is told.
fn teller(what: Arc<Mutex<String>>) -> Option<(Sender<()>, JoinHandle<()>)> {
    let (done, asked) = channel::<()>();
    let since = Instant::now();
    let tell = move || {
        let mut patience = PATIENCE;
        while asked.recv_timeout(patience) == Err(RecvTimeoutError::Timeout) {
            let what = what.lock().map(|what| what.clone()).unwrap_or_default();
            writer::passing(&format!("{what}: {} s so far", since.elapsed().as_secs()));
            patience = BEAT;
        }
        if patience == BEAT {
            writer::passing("");
        }
    };
    std::thread::Builder::new().spawn(tell).ok().map(|thread| (done, thread))
}

impl Drop for Waiting {
    fn drop(&mut self) {
        if let Some((done, thread)) = self.teller.take() {
            drop(done);
            let _ = thread.join();
        }
    }
}
