// The parts of Apache ECharts that rigtally's charts use. Add a chart type or a
// component here when charts/ starts to use it.
import { init, use } from "echarts/core";
import { CustomChart } from "echarts/charts";
import { GridComponent, TooltipComponent } from "echarts/components";
import { SVGRenderer } from "echarts/renderers";

use([CustomChart, GridComponent, TooltipComponent, SVGRenderer]);

// The one name that static/chart.js needs.
window.echarts = { init };
