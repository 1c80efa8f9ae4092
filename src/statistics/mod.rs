//! What can be said from few specimens.
//!
//! Pure functions on plain numbers: statistics knows no units, so a result is in the unit of the values given, or a pure
//! number where its name says so (a ratio, a p, a factor). Nothing here reads files or draws random numbers. Every method names
//! its source at the head of its file, refuses with a [`refusal::Refusal`] that says why and how many specimens it would take,
//! and leaves the data as they are: no value is ever dropped.
//!
//! The question each file answers:
//!
//! | file | question |
//! | --- | --- |
//! | `summary` | where is the centre, how wide the spread, how sure is either |
//! | `consistency` | can these printed figures belong to a sample |
//! | `tolerance`, `bound` | what may be promised of the next specimen, of most specimens |
//! | `batches` | the same where batches differ |
//! | `censored` | the same where some specimens held |
//! | `weibull` | the same for brittle failure, with specimens that did not fail |
//! | `outlier` | does one value stand out |
//! | `compare`, `exact` | do two series differ, are they the same within a margin |
//! | `many`, `pairwise` | do several series differ, and which |
//! | `power` | how many specimens does a question need |
//! | `combine` | what do several sources say together |
//! | `gum`, `round` | how sure is a computed value, how is it written |
//! | `line` | what is the slope |
//! | `distribution`, `noncentral`, `studentized`, `special` | the distributions themselves |
//!
//! Literature used throughout (clauses are from memory unless a file says otherwise):
//! NIST/SEMATECH e-Handbook of Statistical Methods; ISO 16269-6:2014 (tolerance intervals); Krishnamoorthy and Mathew,
//! Statistical Tolerance Regions, 2009; EN 1990:2002 Annex D and EN 14358:2016 (characteristic values); CMH-17-1G chapter 8
//! (basis values); ASTM C1239 and ISO 20501:2019 (Weibull); ASTM E178-21 and ISO 5725-2:2019 (outliers); ISO 2602:1980 and
//! ISO 2854 (means); JCGM 100:2008 (uncertainty); ISO 80000-1:2009 Annex B and ASTM E29 (rounding).
//! Tests use the NIST Statistical Reference Datasets and values of independent libraries.

pub mod batches;
pub mod bound;
pub mod censored;
pub mod combine;
pub mod compare;
pub mod consistency;
pub mod distribution;
pub mod exact;
pub mod gum;
pub mod interval;
pub mod line;
pub mod many;
pub mod noncentral;
pub mod outlier;
pub mod pairwise;
pub mod power;
pub mod refusal;
pub mod round;
pub mod special;
pub mod studentized;
pub mod summary;
pub mod tolerance;
pub mod weibull;
mod weibull_table;
