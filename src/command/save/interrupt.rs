//! Ctrl-C and the signal to end wait while files are being put in their places; at every other time they end the program.

#[cfg(unix)]
mod unix {
    use signal_hook::consts::{SIGINT, SIGTERM};
    use signal_hook::{flag, low_level};
    use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
    use std::sync::{Arc, OnceLock};

    struct Signals {
        /// Whether a signal ends the program at once.
        at_once: Arc<AtomicBool>,
        /// The signal that came.
        came: Arc<AtomicUsize>,
        /// How many shields there are.
        shields: AtomicUsize,
    }

    static SIGNALS: OnceLock<Signals> = OnceLock::new();

    fn signals() -> &'static Signals {
        SIGNALS.get_or_init(|| {
            let signals =
                Signals { at_once: Arc::new(AtomicBool::new(true)), came: Arc::default(), shields: AtomicUsize::new(0) };
            for signal in [SIGINT, SIGTERM] {
                // Where no handler can be set a signal kills in the middle, and the next start mends.
                let number = usize::try_from(signal).unwrap_or_default();
                let _ = flag::register_usize(signal, Arc::clone(&signals.came), number);
                let _ = flag::register_conditional_default(signal, Arc::clone(&signals.at_once));
            }
            signals
        })
    }

    /// While it lives, signals wait.
    pub struct Shield(());

    impl Shield {
        pub fn new() -> Self {
            signals().shields.fetch_add(1, Ordering::SeqCst);
            signals().at_once.store(false, Ordering::SeqCst);
            Shield(())
        }
        /// Whether a signal waits.
        pub fn is_asked_to_stop(&self) -> bool {
            signals().came.load(Ordering::SeqCst) != 0
        }
    }

    impl Drop for Shield {
        fn drop(&mut self) {
            if signals().shields.fetch_sub(1, Ordering::SeqCst) > 1 {
                return;
            }
            signals().at_once.store(true, Ordering::SeqCst);
            if let Some(signal) = i32::try_from(signals().came.load(Ordering::SeqCst)).ok().filter(|signal| *signal != 0) {
                let _ = low_level::emulate_default_handler(signal);
            }
        }
    }
}

#[cfg(not(unix))]
mod other {
    /// Signals are a matter of Unix.
    pub struct Shield(());

    impl Shield {
        pub fn new() -> Self {
            Shield(())
        }
        pub fn is_asked_to_stop(&self) -> bool {
            false
        }
    }
}

#[cfg(not(unix))]
pub use other::Shield;
#[cfg(unix)]
pub use unix::Shield;
