// The parts of Apache ECharts that rigtally's charts use. Add a chart type or a
// component here when charts/ starts to use it.
import { init, use } from "echarts/core";
import { BarChart, CustomChart, HeatmapChart, LineChart, ScatterChart } from "echarts/charts";
import { GridComponent, MarkLineComponent, TooltipComponent } from "echarts/components";
import { LabelLayout } from "echarts/features";
import { SVGRenderer } from "echarts/renderers";

use([BarChart, CustomChart, HeatmapChart, LineChart, ScatterChart, GridComponent, MarkLineComponent, TooltipComponent, LabelLayout, SVGRenderer]);

// The one name that static/chart needs.
window.echarts = { init };
