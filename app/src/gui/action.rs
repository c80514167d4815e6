//! Everything that can be asked of the program without further data: one list from which menus, shortcuts and tooltips come.

use egui::{Key, KeyboardShortcut, Modifiers};

use crate::gui::ctx::Ctx;
use crate::gui::tool::Tool;
use crate::gui::view_state::Lens;

/// Something to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Action {
    NewProject,
    OpenProject,
    OpenSampleFarm,
    StartFromBoundaries,
    ImportBoundaries,
    ImportGates,
    ImportScouting,
    ImportResults,
    ImportProgrammes,
    ImportSprays,
    ImportCrops,
    PasteTable,
    PlanProgrammes,
    ChooseWorst,
    SaveOrder,
    ProposeStops,
    AddStop,
    PinStop,
    RemoveStop,
    ComparePlans,
    SetPlanAside,
    HowManyStops,
    AddGate,
    DrawNoGo,
    DrawTramlines,
    SuggestTramlines,
    DrawField,
    ReshapeField,
    SplitField,
    MergeFields,
    FinishDrawing,
    LastCornerBack,
    PlanSamples,
    ChooseFirstSamples,
    MoveSamples,
    SamplesBack,
    PrintCards,
    PrintLabels,
    PrintForms,
    ImportWalk,
    ExportWalks,
    ExportStops,
    PlanRounds,
    ExportCalendar,
    ExportRounds,
    ExportResults,
    ExportReport,
    ExportMap,
    ExportEverything,
    ExportShared,
    ChoosePicture,
    Undo,
    Redo,
    ShowPalette,
    ShowHistory,
    RemoveField,
    FindField,
    ZoomIn,
    ZoomOut,
    ZoomToAll,
    ZoomToSelection,
    ZoomToFarm,
    SelectDue,
    SelectNone,
    ChooseRectangle,
    ChooseOutline,
    Measure,
    ShowLayers,
    OpenBackground,
    ShowProblems,
    LensFields,
    LensScout,
    LensWalk,
    LensSamples,
    LensResults,
    LensAct,
    LensReport,
    LightTheme,
    DarkTheme,
    SystemTheme,
}

#[allow(clippy::enum_glob_use)] // the list below names every one of them
use Action::*;

const fn key(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::NONE, key)
}

const fn ctrl(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND, key)
}

const fn ctrl_shift(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), key)
}

impl Action {
    /// Every action, in the order of a palette.
    pub const ALL: &[Self] = &[
        NewProject,
        OpenProject,
        OpenSampleFarm,
        StartFromBoundaries,
        ImportBoundaries,
        ImportGates,
        ImportScouting,
        ImportResults,
        ImportProgrammes,
        ImportSprays,
        ImportCrops,
        PasteTable,
        PlanProgrammes,
        ChooseWorst,
        SaveOrder,
        ProposeStops,
        AddStop,
        PinStop,
        RemoveStop,
        ComparePlans,
        SetPlanAside,
        HowManyStops,
        AddGate,
        DrawNoGo,
        DrawTramlines,
        SuggestTramlines,
        DrawField,
        ReshapeField,
        SplitField,
        MergeFields,
        FinishDrawing,
        LastCornerBack,
        PlanSamples,
        ChooseFirstSamples,
        MoveSamples,
        SamplesBack,
        PrintCards,
        PrintLabels,
        PrintForms,
        ImportWalk,
        ExportWalks,
        ExportStops,
        PlanRounds,
        ExportCalendar,
        ExportRounds,
        ExportResults,
        ExportReport,
        ExportMap,
        ExportEverything,
        ExportShared,
        ChoosePicture,
        Undo,
        Redo,
        ShowPalette,
        ShowHistory,
        RemoveField,
        FindField,
        ZoomIn,
        ZoomOut,
        ZoomToAll,
        ZoomToSelection,
        ZoomToFarm,
        SelectDue,
        SelectNone,
        ChooseRectangle,
        ChooseOutline,
        Measure,
        ShowLayers,
        OpenBackground,
        ShowProblems,
        LensFields,
        LensScout,
        LensWalk,
        LensSamples,
        LensResults,
        LensAct,
        LensReport,
        LightTheme,
        DarkTheme,
        SystemTheme,
    ];

    /// What stands on the button or in the menu; "…" when a question follows.
    pub fn text(self) -> &'static str {
        match self {
            NewProject => "New project…",
            OpenProject => "Open a project…",
            OpenSampleFarm => "Open the sample farm",
            StartFromBoundaries => "Start from a boundary file…",
            ImportBoundaries => "Import boundaries…",
            ImportGates => "Import gates…",
            ImportScouting => "Import scouting…",
            ImportResults => "Import results…",
            ImportProgrammes => "Import programmes…",
            ImportSprays => "Import sprays…",
            ImportCrops => "Import crops…",
            PasteTable => "Paste sprays, crops or programmes…",
            PlanProgrammes => "Plan programmes",
            ChooseWorst => "Choose the field with most money at risk",
            SaveOrder => "Save the order of fields…",
            ProposeStops => "Propose stops",
            AddStop => "Add a stop",
            PinStop => "Pin the stop",
            RemoveStop => "Remove the stop",
            ComparePlans => "Compare plans",
            SetPlanAside => "Set a copy aside",
            HowManyStops => "Chart the number of stops",
            AddGate => "Add a gate",
            DrawNoGo => "Draw a no-go area",
            DrawTramlines => "Draw tramlines",
            SuggestTramlines => "Lay tramlines along the longest edge",
            DrawField => "Draw a field",
            ReshapeField => "Reshape the field",
            SplitField => "Split the field",
            MergeFields => "Merge the fields",
            FinishDrawing => "Finish drawing",
            LastCornerBack => "Take back the last corner",
            PlanSamples => "Plan samples",
            ChooseFirstSamples => "Choose the samples that come first",
            MoveSamples => "Move samples on",
            SamplesBack => "Take back the last stage",
            PrintCards => "Field cards…",
            PrintLabels => "Labels…",
            PrintForms => "Forms…",
            ImportWalk => "Import a track…",
            ExportWalks => "Export walks as GPX…",
            ExportStops => "Export stops as GPX…",
            PlanRounds => "Work out the rounds",
            ExportCalendar => "Export the calendar…",
            ExportRounds => "Export each day as GPX…",
            ExportResults => "Export results…",
            ExportReport => "Write the report…",
            ExportMap => "Export the map as it is seen…",
            ExportEverything => "Export all data…",
            ExportShared => "Export a copy to share…",
            ChoosePicture => "Picture for the cover…",
            Undo => "Undo",
            Redo => "Redo",
            ShowPalette => "Find an action…",
            ShowHistory => "History",
            RemoveField => "Remove the field",
            FindField => "Find a field",
            ZoomIn => "Zoom in",
            ZoomOut => "Zoom out",
            ZoomToAll => "Zoom to all fields",
            ZoomToSelection => "Zoom to the chosen fields",
            ZoomToFarm => "Zoom to the farm",
            SelectDue => "Choose the fields that are due",
            SelectNone => "Choose no field",
            ChooseRectangle => "Choose fields in a rectangle",
            ChooseOutline => "Choose fields in an outline",
            Measure => "Measure",
            ShowLayers => "Layers",
            OpenBackground => "Background from a file…",
            ShowProblems => "Show problems",
            LensFields => "Fields",
            LensScout => "Scout",
            LensWalk => "Walk",
            LensSamples => "Samples",
            LensResults => "Results",
            LensAct => "Act",
            LensReport => "Report",
            LightTheme => "Light",
            DarkTheme => "Dark",
            SystemTheme => "As the system",
        }
    }

    /// What it does, one sentence.
    pub fn tooltip(self) -> &'static str {
        match self {
            NewProject => "Make an empty project file.",
            OpenProject => "Open a project file that Awn wrote.",
            OpenSampleFarm => "Write three invented farms into a folder of yours and open them.",
            StartFromBoundaries => "Make a new project and read your fields' boundaries into it.",
            ImportBoundaries => "Read field boundaries from a shapefile, GeoJSON or GeoPackage.",
            ImportGates => "Read gates; each goes to the nearest field.",
            ImportScouting => "Read a scouting survey: points, or zones with one value each.",
            ImportResults => "Read the laboratory's table of results.",
            ImportProgrammes => "Read spray programmes from CSV or XLSX, one step a row, with your own figures.",
            ImportSprays => {
                "Read herbicide passes from CSV or XLSX: field, active, dose with its unit, date, cost, seen result."
            }
            ImportCrops => "Read crops from CSV or XLSX: field, harvest year, crop, drilling date, cultivation.",
            PasteTable => "Paste rows as they are copied from a spreadsheet, with their headings.",
            PlanProgrammes => "See the programmes, and put them on fields for this harvest.",
            ChooseWorst => "Choose the field in which most of the programme's money buys control that is lost.",
            SaveOrder => "Write the order of fields from cleanest to worst as PDF or text.",
            ProposeStops => "Work out where to take seed in the chosen fields, and the walk that joins the stops.",
            AddStop => "Click where seed shall be taken as well; the stop goes to the nearest tramline.",
            PinStop => "Keep the chosen stop where it is when stops are proposed again, or let go of it.",
            RemoveStop => "Take the chosen stop out of the plan.",
            ComparePlans => "Set the plan beside those set aside and beside other ways of choosing as many stops.",
            SetPlanAside => "Keep a copy of this plan to compare with.",
            HowManyStops => "See what more or fewer stops come to.",
            AddGate => "Click on the boundary where the gate is.",
            DrawNoGo => "Click its corners: no stop is placed in it and no walk leads through it.",
            DrawTramlines => "Click two places on one tramline; the others run beside it.",
            SuggestTramlines => "Lay tramlines at the set spacing along the field's longest straight edge.",
            DrawField => "Click the corners of a new field.",
            ReshapeField => "Move corners of the boundary and of no-go areas; click a side to add a corner.",
            SplitField => "Draw a line across the field; from this harvest on the parts are fields of their own.",
            MergeFields => "Join the chosen neighbouring fields into one from this harvest on.",
            FinishDrawing => "Keep the shape that is being drawn.",
            LastCornerBack => "Take back the last corner of the shape that is being drawn.",
            PlanSamples => "Give each envelope of the planned fields a code of its own.",
            ChooseFirstSamples => "Choose the samples that are late, or whose turn comes next.",
            MoveSamples => "Note that the chosen samples came to their next stage.",
            SamplesBack => "Take back the last stage of the chosen samples; the history keeps it.",
            PrintCards => "Write a card for each field to take along: map, stops, seed, what to mind, room for notes.",
            PrintLabels => "Write labels for the envelopes, with the code as QR.",
            PrintForms => "Write the forms for the laboratory, and list what is not known.",
            ImportWalk => "Read the receiver's track of the day, and see how good the walk was.",
            ExportWalks => "Write the walks and stops of this harvest year for a hand-held receiver or a telephone.",
            ExportStops => "Write the stops of this harvest year as waypoints.",
            PlanRounds => {
                "Give every field with a walk a day inside its ripe dates, and each day an order with little driving."
            }
            ExportCalendar => "Write the visits of the rounds as a calendar file (.ics) for a telephone or a desk.",
            ExportRounds => "Write a GPX file for each day and car: the gates in order, and the walks.",
            ExportResults => "Write every result up to this harvest, with our rating, as a workbook (XLSX) or CSV.",
            ExportReport => "Write the report of this harvest year as PDF.",
            ExportMap => "Draw the map with its present colours, layers and ground as PNG, SVG or PDF.",
            ExportEverything => {
                "Write everything in the project, with a dictionary of its columns, as XLSX, GeoPackage or CSV (.zip)."
            }
            ExportShared => "Write what tests found without names, positions, codes, notes and sources.",
            ChoosePicture => "Lay a picture of your own on the cover of the report.",
            Undo => "Take back the last change.",
            Redo => "Do the change again that was taken back.",
            ShowPalette => "Type a part of what you want to do.",
            ShowHistory => "Every change of the project; go back to any of them.",
            RemoveField => "Take the chosen field out of this harvest; undo brings it back.",
            FindField => "Type a part of a field's or a farm's name.",
            ZoomIn => "Show less ground, larger.",
            ZoomOut => "Show more ground, smaller.",
            ZoomToAll => "Show every field of this harvest year.",
            ZoomToSelection => "Show the chosen fields as large as they fit.",
            SelectDue => "Choose every field that is due a test this harvest year.",
            ZoomToFarm => "Show the whole farm of the chosen fields.",
            SelectNone => "Put the measure away, or let go of all chosen fields.",
            ChooseRectangle => "Drag a rectangle over the fields to choose; hold Shift to keep those chosen before.",
            ChooseOutline => "Click corners round the fields to choose; double-click to end.",
            Measure => "Click along what to measure; a click on the first corner closes it and gives the area.",
            ShowLayers => "Show, hide, order and fade what the map draws.",
            OpenBackground => "Lay map tiles (PMTiles) or a picture that knows its place under the fields.",
            ShowProblems => "Show what was wrong in the files read, and what to do about it.",
            LensFields => "Which fields there are, and what is known of them.",
            LensScout => "Where the weed stands, and how thick.",
            LensWalk => "Where to take seed, and how to walk there.",
            LensSamples => "Where every envelope is, and what is late.",
            LensResults => "What the tests said.",
            LensAct => "What still earns its money in each field, and what else could be done.",
            LensReport => "What the client sees of a year's work.",
            LightTheme => "Ink on paper.",
            DarkTheme => "Paper on ink.",
            SystemTheme => "Follow the system's choice of light or dark.",
        }
    }

    /// The keys, if it has any.
    pub fn shortcut(self) -> Option<KeyboardShortcut> {
        Some(match self {
            NewProject => ctrl(Key::N),
            OpenProject => ctrl(Key::O),
            ImportBoundaries => ctrl(Key::I),
            ProposeStops => ctrl(Key::P),
            PinStop => ctrl_shift(Key::P),
            RemoveStop => key(Key::Delete),
            ComparePlans => ctrl(Key::K),
            HowManyStops => ctrl(Key::H),
            FinishDrawing => key(Key::Enter),
            LastCornerBack => key(Key::Backspace),
            ExportWalks => ctrl(Key::E),
            ExportResults => ctrl_shift(Key::E),
            Undo => ctrl(Key::Z),
            Redo => ctrl_shift(Key::Z),
            FindField => ctrl(Key::F),
            ShowPalette => ctrl(Key::J),
            ShowHistory => ctrl(Key::Y),
            ZoomIn => ctrl(Key::Plus),
            ZoomOut => ctrl(Key::Minus),
            ZoomToAll => ctrl(Key::Num0),
            ZoomToSelection => ctrl(Key::Num9),
            SelectDue => ctrl(Key::D),
            SelectNone => key(Key::Escape),
            ZoomToFarm => ctrl(Key::Num8),
            ChooseRectangle => ctrl(Key::R),
            ChooseOutline => ctrl_shift(Key::R),
            Measure => ctrl(Key::M),
            ShowLayers => ctrl(Key::L),
            LensFields => ctrl(Key::Num1),
            LensScout => ctrl(Key::Num2),
            LensWalk => ctrl(Key::Num3),
            LensSamples => ctrl(Key::Num4),
            LensResults => ctrl(Key::Num5),
            LensAct => ctrl(Key::Num6),
            LensReport => ctrl(Key::Num7),
            ExportMap => ctrl_shift(Key::M),
            _ => return None,
        })
    }

    /// The lens it opens, if that is what it does.
    pub fn lens(self) -> Option<Lens> {
        Some(match self {
            LensFields => Lens::Fields,
            LensScout => Lens::Scout,
            LensWalk => Lens::Walk,
            LensSamples => Lens::Samples,
            LensResults => Lens::Results,
            LensAct => Lens::Act,
            LensReport => Lens::Report,
            _ => return None,
        })
    }

    /// Whether it can be done now.
    pub fn enabled(self, ctx: &Ctx<'_>) -> bool {
        match self {
            NewProject | OpenProject | OpenSampleFarm | StartFromBoundaries | LightTheme | DarkTheme | SystemTheme
            | ShowPalette => true,
            ShowProblems => !ctx.problems.is_empty(),
            _ if !ctx.is_open => false,
            PlanSamples => ctx.can_write() && (ctx.facts.plans > 0 || !ctx.view.selected.is_empty()),
            ChooseFirstSamples => !crate::gui::samples_view::SamplesView::first(&ctx.facts.samples).is_empty(),
            MoveSamples => ctx.can_write() && ctx.view.samples.target(&ctx.facts.samples).is_some(),
            SamplesBack => ctx.can_write() && !ctx.view.samples.chosen.is_empty(),
            PrintLabels | PrintForms => !ctx.facts.samples.is_empty(),
            ImportBoundaries | DrawField => ctx.can_write(),
            ImportGates | ImportScouting | ImportResults | ImportWalk | ImportProgrammes | ImportSprays | ImportCrops
            | PasteTable => ctx.can_write() && !ctx.records.fields.is_empty(),
            PlanProgrammes => !ctx.records.programmes.is_empty(),
            ChooseWorst => !ctx.facts.act.checks.fields.is_empty(),
            SaveOrder => ctx.field_order.is_some(),
            ProposeStops => ctx.can_write() && !ctx.fields_to_plan().is_empty(),
            PrintCards | ExportWalks | ExportStops => ctx.facts.plans > 0,
            PlanRounds => ctx.can_write() && ctx.facts.plans > 0,
            ExportCalendar | ExportRounds => ctx.records.rounds_of(ctx.view.year).is_some(),
            ExportResults => !ctx.facts.results.is_empty(),
            ExportEverything | ExportShared => !ctx.records.fields.is_empty(),
            Undo => ctx.can_write() && ctx.undo.is_some(),
            Redo => ctx.can_write() && ctx.redo.is_some(),
            AddStop | ComparePlans | SetPlanAside => ctx.can_write() && ctx.single_plan().is_some(),
            PinStop | RemoveStop => ctx.can_write() && ctx.single_plan().is_some() && ctx.view.stop.is_some(),
            HowManyStops => ctx.view.single().is_some(),
            RemoveField => ctx.can_write() && ctx.view.single().is_some(),
            AddGate | DrawNoGo | DrawTramlines | SuggestTramlines | ReshapeField | SplitField => {
                ctx.can_write() && ctx.view.single().is_some()
            }
            MergeFields => ctx.can_write() && ctx.view.selected.len() > 1,
            FinishDrawing => matches!(&ctx.view.tool, Tool::Sketch(sketch) if sketch.is_enough()),
            LastCornerBack => matches!(&ctx.view.tool, Tool::Sketch(sketch) if !sketch.corners.is_empty()),
            ZoomToSelection | ZoomToFarm => !ctx.view.selected.is_empty(),
            SelectNone => !ctx.view.selected.is_empty() || ctx.view.tool != Tool::Choose || ctx.view.palette.is_some(),
            ExportReport | ExportMap | ZoomToAll | SelectDue | ChooseRectangle | ChooseOutline => !ctx.facts.rows.is_empty(),
            _ => true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_action_says_what_it_does_and_no_keys_clash() {
        let mut seen = Vec::new();
        for action in Action::ALL.iter().copied() {
            assert!(!action.text().is_empty() && action.tooltip().ends_with('.'), "{action:?}");
            if let Some(shortcut) = action.shortcut() {
                assert!(!seen.contains(&shortcut), "{action:?}: {shortcut:?} is taken");
                seen.push(shortcut);
            }
        }
        let mut all = Action::ALL.to_vec();
        all.dedup();
        assert_eq!(all.len(), Action::SystemTheme as usize + 1, "an action is missing from the list");
    }
}
