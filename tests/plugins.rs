//! Plug-ins in the sandbox: the demo pack's own, hostile ones, and what the user's word allows.

mod demo;
mod hostile;
mod made;
mod modules;
mod word;
