//! Audits, one file each. Adding one takes a file here, its cases in `tests/data/audits/`, and two lines below.

use crate::audit::Audit;

mod abstract_only;
mod across_layers_stronger;
mod bond_description_missing;
mod bond_strength_high;
mod censored_averaged;
mod common;
mod conversion_slip;
mod converted_number;
mod cure_times_order;
mod derivation_circular;
mod deviation_kind_missing;
mod digits_mixed;
mod digits_too_few;
mod digits_too_many;
mod disputed;
mod expansion_span_missing;
mod failure_mode_missing;
mod far_from_peers;
mod geometry_impossible;
mod graph_uncertainty_missing;
mod heat_deflection_above_transition;
mod heat_deflection_order;
mod heat_deflection_stress_missing;
mod inputs_missing;
mod isbn_wrong;
mod joint_description_missing;
mod load_above_equilibrium;
mod locator_missing;
mod mean_outside_range;
mod mean_unreachable;
mod memory_only;
mod method_after_source;
mod method_mismatch;
mod method_missing;
mod modes_miscounted;
mod moisture_missing;
mod n_missing;
mod notch_missing;
mod notched_above_unnotched;
mod one_print_job;
mod one_source;
mod only_disputed;
mod outlier_unexplained;
mod page_stale;
mod page_undated;
mod post_cure_missing;
mod print_settings_missing;
mod printed_above_moulded;
mod printed_value_differs;
mod property_class_as_strength;
mod property_missing;
mod quoted_from_another;
mod range_too_wide;
mod rate_missing;
mod ratio_unusual;
mod record_empty;
mod results_copied;
mod rises_with_temperature;
mod rule_from_memory;
mod sd_divisor_n;
mod sd_outside_range_bounds;
mod series_unit_slip;
mod shared_origin;
mod shear_modulus_inconsistent;
mod source_incomplete;
mod source_old;
mod source_unused;
mod sources_disagree;
mod specimen_missing;
mod specimens_few;
mod spread_missing;
mod spread_unknown;
mod spread_unlikely;
mod strain_order;
mod summary_not_reproduced;
mod surface_parts_differ;
mod temperature_missing;
mod torque_order;
mod transition_method_missing;
mod transition_order;
mod unsourced;
mod untraced_table;
mod value_copied;
mod value_implausible;
mod value_impossible;
mod wavelength_missing;
mod wet_stiffer_than_dry;
mod wetting_liquids_missing;
mod yield_above_strength;

/// Every audit, sorted by name.
pub static ALL: &[&Audit] = &[
    &abstract_only::AUDIT,
    &across_layers_stronger::AUDIT,
    &bond_description_missing::AUDIT,
    &bond_strength_high::AUDIT,
    &censored_averaged::AUDIT,
    &conversion_slip::AUDIT,
    &converted_number::AUDIT,
    &cure_times_order::AUDIT,
    &derivation_circular::AUDIT,
    &deviation_kind_missing::AUDIT,
    &digits_mixed::AUDIT,
    &digits_too_few::AUDIT,
    &digits_too_many::AUDIT,
    &disputed::AUDIT,
    &expansion_span_missing::AUDIT,
    &failure_mode_missing::AUDIT,
    &far_from_peers::AUDIT,
    &geometry_impossible::AUDIT,
    &graph_uncertainty_missing::AUDIT,
    &heat_deflection_above_transition::AUDIT,
    &heat_deflection_order::AUDIT,
    &heat_deflection_stress_missing::AUDIT,
    &inputs_missing::AUDIT,
    &isbn_wrong::AUDIT,
    &joint_description_missing::AUDIT,
    &load_above_equilibrium::AUDIT,
    &locator_missing::AUDIT,
    &mean_outside_range::AUDIT,
    &mean_unreachable::AUDIT,
    &memory_only::AUDIT,
    &method_after_source::AUDIT,
    &method_mismatch::AUDIT,
    &method_missing::AUDIT,
    &modes_miscounted::AUDIT,
    &moisture_missing::AUDIT,
    &n_missing::AUDIT,
    &notch_missing::AUDIT,
    &notched_above_unnotched::AUDIT,
    &one_print_job::AUDIT,
    &one_source::AUDIT,
    &only_disputed::AUDIT,
    &outlier_unexplained::AUDIT,
    &page_stale::AUDIT,
    &page_undated::AUDIT,
    &post_cure_missing::AUDIT,
    &print_settings_missing::AUDIT,
    &printed_above_moulded::AUDIT,
    &printed_value_differs::AUDIT,
    &property_class_as_strength::AUDIT,
    &property_missing::AUDIT,
    &quoted_from_another::AUDIT,
    &range_too_wide::AUDIT,
    &rate_missing::AUDIT,
    &ratio_unusual::AUDIT,
    &record_empty::AUDIT,
    &results_copied::AUDIT,
    &rises_with_temperature::AUDIT,
    &rule_from_memory::AUDIT,
    &sd_divisor_n::AUDIT,
    &sd_outside_range_bounds::AUDIT,
    &series_unit_slip::AUDIT,
    &shared_origin::AUDIT,
    &shear_modulus_inconsistent::AUDIT,
    &source_incomplete::AUDIT,
    &source_old::AUDIT,
    &source_unused::AUDIT,
    &sources_disagree::AUDIT,
    &specimen_missing::AUDIT,
    &specimens_few::AUDIT,
    &spread_missing::AUDIT,
    &spread_unknown::AUDIT,
    &spread_unlikely::AUDIT,
    &strain_order::AUDIT,
    &summary_not_reproduced::AUDIT,
    &surface_parts_differ::AUDIT,
    &temperature_missing::AUDIT,
    &torque_order::AUDIT,
    &transition_method_missing::AUDIT,
    &transition_order::AUDIT,
    &unsourced::AUDIT,
    &untraced_table::AUDIT,
    &value_copied::AUDIT,
    &value_implausible::AUDIT,
    &value_impossible::AUDIT,
    &wavelength_missing::AUDIT,
    &wet_stiffer_than_dry::AUDIT,
    &wetting_liquids_missing::AUDIT,
    &yield_above_strength::AUDIT,
];

#[cfg(test)]
mod tests;
